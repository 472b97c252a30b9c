/**
 * Divides a launch into pixel columns. Each keeps the largest value in it, so a spike of one sample survives any zoom. A column between two
 * samples of one stretch holds the line that joins them; a column without a known value is NaN.
 */
import { number } from "../kernel/number-words.ts";
import { kmhIn, type Units } from "../kernel/shown-units.ts";

/** The samples behind one print, on one time axis (s from movement); NaN where unknown. */
export interface SeamData {
  readonly timeS: ArrayLike<number>;
  readonly slipKmh: ArrayLike<number>;
  readonly heldNm: ArrayLike<number>;
  readonly intervening: ArrayLike<number>;
}

export interface SeamColumns {
  /** The value of largest magnitude, with its sign; NaN unknown. */
  readonly slipKmh: Float32Array;
  readonly heldNm: Float32Array;
  /** 1 where the control intervenes. */
  readonly intervening: Uint8Array;
  /** 1 where a sample or a joining line covers the column. */
  readonly covered: Uint8Array;
}

/** A longer pause between samples is a gap in the data, drawn as dots. For an axis other than time the caller gives this limit. */
const LONGEST_JOIN_S = 0.3;

const larger = (a: number, b: number) => (Number.isNaN(a) || Math.abs(b) > Math.abs(a) ? b : a);

/** Columns of `width` px for the window fromS to toS. Linear in samples plus pixels. */
export function seamColumns(data: SeamData, fromS: number, toS: number, width: number, longestJoin = LONGEST_JOIN_S): SeamColumns {
  const slipKmh = new Float32Array(width).fill(Number.NaN);
  const heldNm = new Float32Array(width).fill(Number.NaN);
  const intervening = new Uint8Array(width);
  const covered = new Uint8Array(width);
  const pxPerS = width / (toS - fromS);
  const put = (into: Float32Array, column: number, value: number) => {
    if (!Number.isNaN(value)) into[column] = larger(into[column], value);
  };
  const place = (column: number, slip: number, held: number, active: number) => {
    if (column < 0 || column >= width) return;
    put(slipKmh, column, slip);
    put(heldNm, column, held);
    if (active > 0) intervening[column] = 1;
    covered[column] = 1;
  };
  for (let i = 0; i < data.timeS.length; i += 1) {
    const t = data.timeS[i];
    const column = Math.floor((t - fromS) * pxPerS);
    const slip = data.slipKmh[i];
    const held = data.heldNm[i];
    place(column, slip, held, data.intervening[i]);
    const nextT = data.timeS[i + 1];
    if (nextT === undefined || nextT - t > longestJoin) continue;
    const last = Math.min(width, Math.floor((nextT - fromS) * pxPerS));
    for (let c = Math.max(0, column + 1); c < last; c += 1) {
      const share = (c - column) / (last - column);
      const join = (a: number, b: number) => a + (b - a) * share;
      place(c, join(slip, data.slipKmh[i + 1]), join(held, data.heldNm[i + 1]), data.intervening[i]);
    }
  }
  return { slipKmh, heldNm, intervening, covered };
}

const HELD_SCALES_NM = [60, 120, 240] as const;

const least = (scales: readonly number[], largest: number) => scales.find((scale) => scale >= largest) ?? scales[scales.length - 1] ?? 1;

export interface SeamScales {
  /** A round number in the units of its reader. */
  readonly slipKmh: number;
  readonly heldNm: number;
  readonly units: Units;
}

/** The day's fixed scales: the smallest that include the largest values seen. */
export const seamScales = (largestSlipKmh: number, largestHeldNm: number, units: Units): SeamScales => ({
  slipKmh: least(units.slipScales, largestSlipKmh * units.perKmh) / units.perKmh,
  heldNm: least(HELD_SCALES_NM, largestHeldNm),
  units,
});

/** "slip, to 25 km/h" */
export const slipScaleWords = ({ slipKmh, units }: SeamScales): string => `${number(kmhIn(units, slipKmh))} ${units.speed}`;

/** The largest known magnitude; 0 when nothing is known. */
export function largest(values: ArrayLike<number | null>): number {
  let most = 0;
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i];
    if (value !== null && value !== undefined && Number.isFinite(value)) most = Math.max(most, Math.abs(value));
  }
  return most;
}
