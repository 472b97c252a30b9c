/** The few statistics that every room shares, each once. Pure; unknown stays NaN. */

/** Two-sided 95 % point of the normal distribution (NIST/SEMATECH e-Handbook, 1.3.6.7.1). */
export const TWO_SIDED_95 = 1.959964;

/** Standard deviation of a normal distribution over its median absolute deviation: 1 / 0.674490 (same table). */
export const SIGMA_PER_MAD = 1.4826;

/**
 * Quantile of the finite values: linear between the two nearest, at position share x (n - 1) (Hyndman and Fan 1996, type 7). `share` from 0 to 1;
 * NaN where there are none. Leaves its input alone.
 */
export function quantile(values: Iterable<number>, share: number): number {
  const sorted = finiteOf(values).sort();
  const place = share * (sorted.length - 1);
  const below = Math.floor(place);
  const [low = Number.NaN, high = low] = [sorted[below], sorted[below + 1]];
  return low + (place - below) * (high - low);
}

/** A copy of the finite ones. Long columns are asked for: an iterator over one, or a function called for each, takes several times as long. */
function finiteOf(values: Iterable<number>): Float64Array {
  const all = values instanceof Float64Array || Array.isArray(values) ? (values as ArrayLike<number>) : Float64Array.from(values);
  const finite = new Float64Array(all.length);
  let count = 0;
  for (let i = 0; i < all.length; i++) if (Number.isFinite(all[i])) finite[count++] = all[i];
  return finite.subarray(0, count);
}

/** The middle value, or the mean of the two middle ones. */
export const median = (values: Iterable<number>): number => quantile(values, 0.5);
