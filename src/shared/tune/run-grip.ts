/**
 * Compares the grip of runs of one surface and its change over the day: figures for each run, and sentences where runs disagree or drift.
 */
import { median, TWO_SIDED_95 } from "../kernel/statistics.ts";
import { countedRuns } from "../judge/wording.ts";
import { studentQuantile } from "../judge/distributions.ts";
import type { GripFit, GripRows } from "./fit-grip.ts";
import type { GripCurve } from "./grip-curve.ts";

/** Least standard deviation of one run's grip against the others, however many rows it has. */
const LEAST_SIGMA = 0.004;
/** A relative difference of grip that is worth a sentence; the second means another surface. */
const WORTH_SAYING = 0.025;
const ANOTHER_SURFACE = 0.1;
const LEAST_RUNS_FOR_DRIFT = 4;
/** More runs than these are told in one sentence. */
const MOST_TOLD = 4;
const percent = (share: number) => `${Math.abs(100 * share).toFixed(share < 0.1 ? 1 : 0)} %`;

/** Of many runs one sentence: how many, how far, and the first of them. */
function apartWords(apart: GripCurve["runGrip"], middle: number): string {
  const off = apart.map(({ ratio }) => ratio.value / middle - 1);
  const runs = countedRuns(apart.map(({ run }) => run));
  const far = off.some((share) => Math.abs(share) > ANOTHER_SURFACE) ? ", or another surface: note it with the run" : "";
  return `Runs ${runs} grip otherwise than the rest of this surface, from ${percent(Math.min(...off))} ${Math.min(...off) < 0 ? "less" : "more"} to ${percent(Math.max(...off))} ${Math.max(...off) < 0 ? "less" : "more"}: another patch, tyres at another temperature, or worn${far}`;
}

/** `ids` in the order of the fit's bins, in driving order. */
export function runGripNotes(
  ids: readonly number[],
  rows: GripRows,
  fit: GripFit,
  notes: readonly string[],
): Pick<GripCurve, "runGrip" | "notes"> {
  const runGrip = ids.map((run, r) => {
    const weight = rows.sigma[r].reduce((sum, sigma) => sum + (1 / sigma) ** 2, 0) * Math.exp(fit.parameters[1]) ** 2;
    return { run, ratio: { value: fit.runGrip[r], plusMinus95: TWO_SIDED_95 * Math.hypot(LEAST_SIGMA, 1 / Math.sqrt(weight)) } };
  });
  const said = [...notes];
  const middle = median(fit.runGrip);
  const apart = runGrip.filter(({ ratio }) => Math.abs(ratio.value / middle - 1) > Math.max(WORTH_SAYING, ratio.plusMinus95));
  if (apart.length > MOST_TOLD) said.push(apartWords(apart, middle));
  for (const { run, ratio } of apart.length > MOST_TOLD ? [] : apart) {
    const off = ratio.value / middle - 1;
    const why =
      Math.abs(off) > ANOTHER_SURFACE ? "note its surface, it is another one" : "another patch, tyres at another temperature, or worn";
    said.push(`Run ${run} grips ${percent(off)} ${off > 0 ? "more" : "less"} than the other runs of this surface: ${why}`);
  }
  const drift = driftOf(fit.runGrip);
  if (drift !== null) {
    said.push(
      `Grip ${drift > 0 ? "rises" : "falls"} by ${percent(drift)} from the first to the last of these runs: ${drift > 0 ? "tyres warm, or the road dries" : "tyres overheat or wear, or the road gets wet"}`,
    );
  }
  return { runGrip, notes: said };
}

/**
 * Change from first to last run by a straight line, where it is large enough to mention and chance would give it on less than one day in
 * twenty; otherwise null.
 */
function driftOf(grip: Float64Array): number | null {
  const n = grip.length;
  if (n < LEAST_RUNS_FOR_DRIFT) return null;
  const mean = grip.reduce((sum, value) => sum + value, 0) / n;
  const middle = (n - 1) / 2;
  const spread = grip.reduce((sum, _, i) => sum + (i - middle) ** 2, 0);
  const slope = grip.reduce((sum, value, i) => sum + (i - middle) * (value - mean), 0) / spread;
  const rest = grip.reduce((sum, value, i) => sum + (value - mean - slope * (i - middle)) ** 2, 0) / (n - 2);
  const sigma = Math.sqrt(Math.max(rest, LEAST_SIGMA ** 2) / spread);
  const change = slope * (n - 1);
  return Math.abs(change) > WORTH_SAYING && Math.abs(slope) > studentQuantile(0.975, n - 2) * sigma ? change : null;
}
