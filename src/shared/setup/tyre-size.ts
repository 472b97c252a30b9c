/** Reads a tyre-size marking such as "265/35R19" and gives its nominal radius. Throws RangeError on anything else. */

export interface TyreSize {
  readonly widthMm: number;
  readonly aspectPercent: number;
  readonly rimInch: number;
}

const MM_PER_INCH = 25.4;
/**
 * Rolling radius (distance a turn / 2 pi) over the unloaded radius: about 0.96 for passenger radials. From memory (rolling circumference of
 * about 3.05 diameters), not from a source read here.
 */
const ROLLING_FACTOR = 0.968;

/** Parses "265/35R19", "265/35 ZR 19 98Y", "P225/45R17". */
export function parseTyreSize(marking: string): TyreSize {
  const match = /^\s*(?:P|LT)?\s*(\d{3})\s*\/\s*(\d{2})\s*(?:Z?R|-|ZR?F?)\s*(\d{2}(?:\.\d)?)\b/i.exec(marking);
  if (match === null) throw new RangeError(`Expected a tyre size like "265/35R19", got ${JSON.stringify(marking)}`);
  const [widthMm, aspectPercent, rimInch] = match.slice(1).map(Number);
  if (widthMm < 100 || widthMm > 455 || aspectPercent < 20 || aspectPercent > 90 || rimInch < 10 || rimInch > 26) {
    throw new RangeError(
      `Expected a passenger tyre size (width 100 to 455, aspect 20 to 90, rim 10 to 26), got ${JSON.stringify(marking)}`,
    );
  }
  return { widthMm, aspectPercent, rimInch };
}

/** Unloaded radius from the marking alone, m. */
export function unloadedRadiusM(size: TyreSize): number {
  return (size.rimInch * MM_PER_INCH) / 2000 + (size.widthMm * size.aspectPercent) / 100_000;
}

/** Rolling radius as a first value, m; real tyres differ from it by up to about 3 % (from memory). */
export function nominalRollingRadiusM(size: TyreSize): number {
  return unloadedRadiusM(size) * ROLLING_FACTOR;
}
