/** Small sums of the judge: means, ways to choose, and decimals without the dust of subtraction. Empty lists give NaN. */

/** Ties by relative tolerance (docs/design.md), so that equal differences count although rounding parts them. */
const TIE_TOLERANCE = 1e-9;
/** Rounding of a sum of a few dozen values, relative to their spread; keeps a difference of exactly 0 a tie with itself. */
const ROUNDING = 1e-13;

/** Rounding of subtracted decimals (5.40 - 4.35) must not show: times are known to far less than a nanosecond. */
export function tidy(value: number): number {
  return Math.round(value * 1e9) / 1e9;
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** n over k, exact while below 2^53. */
export function combinations(n: number, k: number): number {
  let result = 1;
  for (let i = 1; i <= Math.min(k, n - k); i += 1) {
    const next = (result * (n - i + 1)) / i;
    result = next < Number.MAX_SAFE_INTEGER ? Math.round(next) : next;
  }
  return result;
}

/** The least |difference of means| that counts as "at least the one seen". `values` sets the scale of rounding. */
export function atLeast(seen: number, values: readonly number[]): number {
  const scale = values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  return Math.abs(seen) * (1 - TIE_TOLERANCE) - scale * ROUNDING;
}
