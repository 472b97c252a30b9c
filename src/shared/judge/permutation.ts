/**
 * Two-sided permutation test of a difference of means: the share of all assignments whose |difference| is at
 * least the one seen. Exact to 40 values; beyond that a seeded sample, which the result says.
 */
import { createSeededRandom } from "./seeded-random.ts";

/** Ties by relative tolerance (docs/design.md), so that equal differences count although rounding parts them. */
const TIE_TOLERANCE = 1e-9;
/** Rounding of a sum of a few dozen values, relative to their spread; keeps a difference of exactly 0 a tie with itself. */
const ROUNDING = 1e-13;
const MOST_EXACT_VALUES = 40;
const SAMPLED_ASSIGNMENTS = 200_000;

export interface PermutationResult {
  readonly pTwoSided: number;
  /** All assignments (exact), or the number sampled. */
  readonly assignments: number;
  /** How many of them part the groups at least this far. */
  readonly extreme: number;
  readonly smallestPossibleP: number;
  readonly method: "exact" | "sampled";
}

/** The least |difference of means| that counts as "at least the one seen". `values` sets the scale of rounding. */
export function atLeast(seen: number, values: readonly number[]): number {
  const scale = values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  return Math.abs(seen) * (1 - TIE_TOLERANCE) - scale * ROUNDING;
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** n over k, exact while below 2^53. */
export function combinations(n: number, k: number): number {
  let result = 1;
  for (let i = 1; i <= Math.min(k, n - k); i += 1) result = Math.round((result * (n - i + 1)) / i);
  return result;
}

/** Sums of every subset of `values`, sorted, by size of the subset. */
function subsetSums(values: readonly number[]): Float64Array[] {
  const bySize: number[][] = Array.from({ length: values.length + 1 }, () => []);
  const walk = (at: number, size: number, sum: number) => {
    if (at === values.length) {
      bySize[size]?.push(sum);
      return;
    }
    walk(at + 1, size, sum);
    walk(at + 1, size + 1, sum + values[at]);
  };
  walk(0, 0, 0);
  return bySize.map((sums) => Float64Array.from(sums).sort());
}

/** Pairs (one of each sorted list) whose sum is at least `least`. */
function countSumsAtLeast(a: Float64Array, b: Float64Array, least: number): number {
  let count = 0;
  let from = b.length;
  for (let i = 0; i < a.length; i += 1) {
    while (from > 0 && a[i] + b[from - 1] >= least) from -= 1;
    count += b.length - from;
  }
  return count;
}

/** Meets in the middle: all subsets of one half against all of the other, so 2^(n/2) work instead of 2^n. */
function countExtreme(values: readonly number[], size: number, threshold: number): number {
  const others = values.length - size;
  // With centred values, |mean(a) - mean(b)| = |sum(a)| (1/size + 1/others).
  const leastSum = threshold / (1 / size + 1 / others);
  if (leastSum <= 0) return combinations(values.length, size);
  const half = values.length >> 1;
  const left = subsetSums(values.slice(0, half));
  const right = subsetSums(values.slice(half));
  const negated = (sums: Float64Array) => sums.map((sum) => -sum).reverse();
  let count = 0;
  left.forEach((sums, taken) => {
    const rest = right[size - taken];
    if (!rest) return;
    count += countSumsAtLeast(sums, rest, leastSum) + countSumsAtLeast(negated(sums), negated(rest), leastSum);
  });
  return count;
}

function sampleExtreme(values: readonly number[], size: number, threshold: number, seed: number): number {
  const random = createSeededRandom(seed);
  const pool = Float64Array.from(values);
  const factor = 1 / size + 1 / (values.length - size);
  let extreme = 0;
  for (let draw = 0; draw < SAMPLED_ASSIGNMENTS; draw += 1) {
    let sum = 0;
    for (let i = 0; i < size; i += 1) {
      const j = i + random.below(pool.length - i);
      const picked = pool[j];
      pool[j] = pool[i];
      pool[i] = picked;
      sum += picked;
    }
    if (Math.abs(sum) * factor >= threshold) extreme += 1;
  }
  return extreme;
}

/**
 * Tests groups a and b (any unit). Sampled p is (b + 1) / (m + 1), never 0 (Phipson and Smyth 2010).
 * Throws RangeError for an empty group.
 */
export function permutationTest(a: readonly number[], b: readonly number[], seed = 1): PermutationResult {
  if (a.length === 0 || b.length === 0) throw new RangeError(`Expected at least one value a group, got ${a.length} and ${b.length}`);
  const all = [...a, ...b];
  const centre = mean(all);
  const centred = all.map((value) => value - centre);
  const threshold = atLeast(mean(b) - mean(a), all);
  const total = combinations(all.length, a.length);
  // Two halves of equal size can swap labels, so an extreme assignment never comes alone.
  const alone = a.length === b.length ? 2 : 1;
  if (all.length <= MOST_EXACT_VALUES) {
    const extreme = countExtreme(centred, a.length, threshold);
    return { pTwoSided: extreme / total, assignments: total, extreme, smallestPossibleP: alone / total, method: "exact" };
  }
  const extreme = sampleExtreme(centred, a.length, threshold, seed);
  return {
    pTwoSided: (extreme + 1) / (SAMPLED_ASSIGNMENTS + 1),
    assignments: SAMPLED_ASSIGNMENTS,
    extreme,
    smallestPossibleP: Math.max(alone / total, 1 / (SAMPLED_ASSIGNMENTS + 1)),
    method: "sampled",
  };
}
