/** The median of one value for each run, with the half width of its 95 % interval. Null without values. */
import { studentQuantile } from "../judge/distributions.ts";
import { median } from "../kernel/statistics.ts";
import type { Figure } from "./figure.ts";

/** The standard error of a median is this many times that of a mean: sqrt(pi / 2). */
const MEDIAN_COST = 1.2533;
/** A single run shows no scatter: half of its value is taken as uncertain. */
const OPEN_ALONE = 0.5;

/** `open`: a half width that all of them share. */
export function medianOver(values: readonly number[], open: number): Figure | null {
  const n = values.length;
  if (n === 0) return null;
  const value = median(values);
  if (n === 1) return { value, plusMinus95: Math.hypot(OPEN_ALONE * Math.abs(value), open) };
  const mean = values.reduce((sum, v) => sum + v, 0) / n;
  const sigma = Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1));
  return { value, plusMinus95: Math.hypot((MEDIAN_COST * studentQuantile(0.975, n - 1) * sigma) / Math.sqrt(n), open) };
}
