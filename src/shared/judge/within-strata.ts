/**
 * Two groups compared within strata: chance, Hodges-Lehmann shift (b - a) and interval of one test, the rank sum of each stratum weighted after
 * van Elteren (1960), so that they never contradict each other: the interval holds 0 just when the chance is over its level.
 * Ties count against whatever is claimed (Noether 1967). A stratum without runs of both groups throws RangeError.
 */
import { NS_PER_S } from "../kernel/units.ts";
import { tidy } from "./counting.ts";
import { rankChance, weightOf } from "./rank-chance.ts";
import type { StratumSize } from "./rank-sum.ts";

/** Weighted counts that differ by less are one. */
const TOLERANCE = 1e-9;

/** Seconds of runs that share a stratum. */
interface Stratum {
  readonly a: readonly number[];
  readonly b: readonly number[];
}

export interface StrataTest {
  readonly shift: number;
  /** How far the weighted rank sum lies from its middle, in standard deviations: what large-sample tables list (as chi-square, squared). */
  readonly z: number;
  readonly pTwoSided: number;
  readonly assignments: number;
  /** Deals of the labels that part the groups at least this far. */
  readonly extreme: number;
  readonly smallestPossibleP: number;
  readonly method: "exact" | "sampled";
  /** Some times of one stratum are equal. */
  readonly tied: boolean;
  /** Every shift that the test does not refuse at `level`, with the coverage it really has; where so few runs refuse nothing, the widest there is. */
  interval(level: number): { readonly low: number; readonly high: number; readonly coverage: number };
}

/** Whole nanoseconds, sorted: differences are exact, and equal decimals are equal. */
interface Sorted {
  readonly a: Float64Array;
  readonly b: Float64Array;
  readonly weight: number;
}

const toNs = (values: readonly number[]) => Float64Array.from(values, (value) => Math.round(value * NS_PER_S)).sort();

/** Weighted count of pairs with b - a over `ns`. */
function weightAbove(strata: readonly Sorted[], ns: number): number {
  let sum = 0;
  for (const { a, b, weight } of strata) {
    let pairs = 0;
    let from = 0;
    for (let i = 0; i < a.length; i += 1) {
      while (from < b.length && b[from] - a[i] <= ns) from += 1;
      pairs += b.length - from;
    }
    sum += weight * pairs;
  }
  return sum;
}

/** The same under `ns`: differences are whole. */
const weightBelow = (strata: readonly Sorted[], total: number, ns: number) => total - weightAbove(strata, ns - 1);

/** The least whole number from `low` to `high` that holds, where all after one that holds do too. */
function leastThat(low: number, high: number, holds: (ns: number) => boolean): number {
  let [from, to] = [low, high];
  while (from < to) {
    const middle = Math.floor((from + to) / 2);
    if (holds(middle)) to = middle;
    else from = middle + 1;
  }
  return from;
}

function anyTied(values: readonly number[]): boolean {
  const sorted = toNs(values);
  return sorted.some((value, i) => i > 0 && value === sorted[i - 1]);
}

/** The strata's pairs: how many lie above a shift, by weight, and between which shifts no side outweighs the other by more than allowed. */
function weigh(strata: readonly Stratum[]) {
  const sizes = strata.map(({ a, b }) => ({ a: a.length, b: b.length }));
  const sorted = strata.map(({ a, b }, i) => ({ a: toNs(a), b: toNs(b), weight: weightOf(sizes[i] as StratumSize) }));
  const total = sizes.reduce((sum, size) => sum + weightOf(size) * size.a * size.b, 0);
  const half = total / 2;
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { a, b } of sorted) {
    least = Math.min(least, (b[0] as number) - (a.at(-1) as number));
    most = Math.max(most, (b.at(-1) as number) - (a[0] as number));
  }
  return {
    sizes,
    /** Shifts from which the heavier side strays no farther than this from the middle, s. */
    straying(far: number) {
      const weight = half + far + TOLERANCE;
      const low = leastThat(least, most, (ns) => weightAbove(sorted, ns) <= weight);
      // Mirrored: the greatest that holds on the other side.
      const high = -leastThat(-most, -least, (ns) => weightBelow(sorted, total, -ns) <= weight);
      return { low: tidy(low / NS_PER_S), high: tidy(high / NS_PER_S) };
    },
    /** How far the heavier side strays from the middle with no shift; ties weigh on neither. */
    far: Math.max(0, Math.max(weightAbove(sorted, 0), weightBelow(sorted, total, 0)) - half),
  };
}

/** The Hodges-Lehmann shift alone, b - a, s. */
export function shiftWithinStrata(strata: readonly Stratum[]): number {
  const { low, high } = weigh(strata).straying(0);
  return tidy((low + high) / 2);
}

/** Tests the strata together. `seed` draws the deals where they are too many to count. */
export function testWithinStrata(strata: readonly Stratum[], seed = 1): StrataTest {
  const { sizes, straying, far } = weigh(strata);
  const chances = rankChance(sizes, seed);
  const { chance, count } = chances.straying(far);
  const variance = sizes.reduce((sum, size) => sum + (weightOf(size) * size.a * size.b) / 12, 0);
  const middle = straying(0);
  return {
    shift: tidy((middle.low + middle.high) / 2),
    z: far / Math.sqrt(variance),
    pTwoSided: chance,
    assignments: chances.assignments,
    extreme: count,
    smallestPossibleP: chances.smallestPossibleP,
    method: chances.method,
    tied: strata.some(({ a, b }) => anyTied([...a, ...b])),
    interval(level) {
      const limit = chances.limit(level);
      return { ...straying(limit.far), coverage: Math.max(0, limit.coverage) };
    },
  };
}
