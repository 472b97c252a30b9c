/**
 * How many runs an expected difference needs, and what difference a plan can find: Student's power with the level that the plan can reach.
 */
import { LEVEL } from "./level.ts";
import { chiSquareQuantile, normalCdf, scatterDensity, studentQuantile } from "./distributions.ts";
import { combinations, mean } from "./counting.ts";

const WANTED_POWER = 0.8;
const MOST_RUNS = 40;

/** Scatter of single runs within a group, seconds, and how many degrees of freedom it rests on. */
export interface Scatter {
  readonly seconds: number;
  readonly degrees: number;
}

export interface RunsNeeded {
  /** Runs a group with the scatter as estimated; null: more than 40. */
  readonly runsPerGroup: number | null;
  /** The same at both ends of the scatter's own 95 % interval. */
  readonly from: number | null;
  readonly to: number | null;
}

/** Pools the scatter within groups of seconds; null where no group has two values. */
export function pooledScatter(groups: readonly (readonly number[])[]): Scatter | null {
  let squares = 0;
  let degrees = 0;
  for (const values of groups) {
    if (values.length < 2) continue;
    const centre = mean(values);
    squares += values.reduce((sum, value) => sum + (value - centre) ** 2, 0);
    degrees += values.length - 1;
  }
  return degrees === 0 ? null : { seconds: Math.sqrt(squares / degrees), degrees };
}

/** 95 % interval of a scatter from its chi-square law (normal runs assumed). */
export function scatterInterval(scatter: Scatter): { readonly low: number; readonly high: number } {
  const at = (share: number) => scatter.seconds * Math.sqrt(scatter.degrees / chiSquareQuantile(share, scatter.degrees));
  return { low: at(0.975), high: at(0.025) };
}

/** Orders of two groups with each group equally often in each direction (to one run). */
function ordersOf(runsPerGroup: number, directions: 1 | 2): number {
  if (directions === 1) return combinations(2 * runsPerGroup, runsPerGroup);
  const low = Math.floor(runsPerGroup / 2);
  return combinations(runsPerGroup, low) ** 2 * (runsPerGroup % 2 === 0 ? 1 : 2);
}

/** Orders come in pairs with equal |difference|, so only some levels up to 5 % can be reached. */
function reachableLevel(runsPerGroup: number, directions: 1 | 2): number {
  const orders = ordersOf(runsPerGroup, directions);
  return (2 * Math.floor((LEVEL * orders) / 2 + 1e-9)) / orders;
}

/**
 * Chance that a difference of `standardised` standard deviations is found at 5 % two-sided with n runs a group. Each further direction
 * costs one degree of freedom. Agrees with simulated permutation tests to two hundredths from 5 runs up (test/shared/judge).
 */
export function powerOf(standardised: number, runsPerGroup: number, directions: 1 | 2): number {
  const level = reachableLevel(runsPerGroup, directions);
  const degrees = 2 * runsPerGroup - 1 - directions;
  if (level === 0 || degrees < 1) return 0;
  const t = studentQuantile(1 - level / 2, degrees);
  const centre = standardised * Math.sqrt(runsPerGroup / 2);
  const steps = 400;
  const most = 1 + 8 / Math.sqrt(degrees);
  let sum = 0;
  let weight = 0;
  for (let i = 0; i < steps; i += 1) {
    const s = ((i + 0.5) * most) / steps;
    const density = scatterDensity(s, degrees);
    weight += density;
    sum += density * (normalCdf(centre - t * s) + normalCdf(-centre - t * s));
  }
  return sum / weight;
}

/** Least runs a group that find `difference` (s) at `scatter` (s) with 80 % power; null above 40. */
function leastRuns(difference: number, scatter: number, directions: 1 | 2): number | null {
  for (let runs = 2; runs <= MOST_RUNS; runs += 1) {
    if (powerOf(Math.abs(difference) / scatter, runs, directions) >= WANTED_POWER) return runs;
  }
  return null;
}

/**
 * Runs a group for an expected difference, with the range that comes from the scatter's own uncertainty. Throws RangeError for a difference
 * of 0.
 */
export function runsNeeded(difference: number, scatter: Scatter, directions: 1 | 2): RunsNeeded {
  if (!(Math.abs(difference) > 0)) throw new RangeError(`Expected a difference other than 0 s, got ${difference}`);
  const range = scatterInterval(scatter);
  return {
    runsPerGroup: leastRuns(difference, scatter.seconds, directions),
    from: leastRuns(difference, range.low, directions),
    to: leastRuns(difference, range.high, directions),
  };
}

/** The difference, in standard deviations of single runs, that this plan finds with 80 % power; null where it can find none at 5 %. */
export function findableDifference(runsPerGroup: number, directions: 1 | 2): number | null {
  if (reachableLevel(runsPerGroup, directions) === 0) return null;
  let low = 0;
  let high = 50;
  for (let i = 0; i < 40; i += 1) {
    const at = (low + high) / 2;
    if (powerOf(at, runsPerGroup, directions) < WANTED_POWER) low = at;
    else high = at;
  }
  return high;
}
