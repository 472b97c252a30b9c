/**
 * Whether a column oscillates about its middle line: how often, and how fast this dies away. Fewer than two whole oscillations give null.
 */

export interface Swings {
  readonly hz: number;
  /** Share of critical damping: 0 never dies away, 1 does not oscillate. */
  readonly damping: number;
}

const LEAST_HALVES = 4;

/** `column`: the deviation from its middle line, a row each `rowS`; deviations smaller than `bandMps` are noise. */
export function swingsOf(column: ArrayLike<number>, rowS: number, bandMps: number): Swings | null {
  const crossings: number[] = [];
  const peaks: number[] = [];
  let side = 0;
  let peak = 0;
  let lastZero = 0;
  for (let i = 0; i < column.length; i += 1) {
    const value = column[i];
    const before = i > 0 ? column[i - 1] : value;
    if (before * value < 0) lastZero = i - 1 + before / (before - value);
    const now = value > bandMps ? 1 : value < -bandMps ? -1 : 0;
    if (now !== 0 && now !== side) {
      if (side !== 0) {
        crossings.push(lastZero);
        peaks.push(peak);
      }
      side = now;
      peak = 0;
    }
    if (side !== 0) peak = Math.max(peak, Math.abs(value));
  }
  if (crossings.length < LEAST_HALVES + 1) return null;
  const halves = crossings.length - 1;
  const hz = halves / (2 * rowS * (crossings[halves] - crossings[0]));
  // Logarithmic decrement over half swings (any textbook of vibrations): ln(a1/an) / (n - 1) = pi zeta / sqrt(1 - zeta^2).
  const decrement = Math.max(0, Math.log(peaks[0] / peaks[halves]) / halves);
  return { hz, damping: decrement / Math.hypot(Math.PI, decrement) };
}
