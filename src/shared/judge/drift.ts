/** Drift of times with run order, and the difference between the groups without it, by least squares. Too few runs give null. */
import { studentQuantile } from "./distributions.ts";
import { mean } from "./counting.ts";

export interface DriftFit {
  /** Seconds a run; positive: later runs are slower. */
  readonly perRun: number;
  readonly perRunPlusMinus95: number;
  /** b - a at the same place in the order, seconds, with its 95 % interval (Student, equal scatter assumed). */
  readonly adjustedDifference: number;
  readonly low: number;
  readonly high: number;
}

export interface OrderedTime {
  /** Place in the order driven; only differences of it matter. */
  readonly position: number;
  readonly seconds: number;
}

/** From this many runs a group the adjusted figure is shown (docs/design.md). */
export const LEAST_RUNS_FOR_DRIFT = 6;

/** Model: seconds = level of the group + perRun x position. Null where the order cannot separate drift from group. */
export function fitDrift(a: readonly OrderedTime[], b: readonly OrderedTime[]): DriftFit | null {
  const degrees = a.length + b.length - 3;
  if (a.length < 2 || b.length < 2 || degrees < 1) return null;
  const groups = [a, b].map((group) => ({
    group,
    position: mean(group.map((run) => run.position)),
    seconds: mean(group.map((run) => run.seconds)),
  }));
  let squares = 0;
  let products = 0;
  for (const { group, position, seconds } of groups) {
    for (const run of group) {
      squares += (run.position - position) ** 2;
      products += (run.position - position) * (run.seconds - seconds);
    }
  }
  if (squares === 0) return null;
  const perRun = products / squares;
  let residual = 0;
  for (const { group, position, seconds } of groups) {
    for (const run of group) residual += (run.seconds - seconds - perRun * (run.position - position)) ** 2;
  }
  const variance = residual / degrees;
  const [first, second] = groups as [(typeof groups)[0], (typeof groups)[0]];
  const gap = second.position - first.position;
  const adjustedDifference = second.seconds - first.seconds - perRun * gap;
  const t = studentQuantile(0.975, degrees);
  const half = t * Math.sqrt(variance * (1 / a.length + 1 / b.length + gap ** 2 / squares));
  return {
    perRun,
    perRunPlusMinus95: t * Math.sqrt(variance / squares),
    adjustedDifference,
    low: adjustedDifference - half,
    high: adjustedDifference + half,
  };
}
