/** Noise of one bus signal, measured on its frames. Never less than its step alone makes; where it cannot be measured, it is the step's. */
import { median } from "../kernel/statistics.ts";
import type { TimedColumn } from "../align/aligned-recording.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";

/** Normal distribution: median of the absolute value over the standard deviation. */
const MEDIAN_SHARE = 0.6745;

/**
 * Standard deviation of one frame's value between two times, in the column's unit: how far frames lie from the straight line through their
 * neighbours. A real change of the signal within three frames counts as noise too.
 */
export function signalNoise(column: TimedColumn, fromS: number, toS: number): number {
  const { tS, value, quantum } = column;
  const first = Math.max(1, indexAtOrBefore(tS, fromS) + 1);
  const off = new Float64Array(Math.max(0, indexAtOrBefore(tS, toS) - first + 1));
  let count = 0;
  for (let i = first; i + 1 < tS.length && tS[i] <= toS; i++) {
    const span = tS[i + 1] - tS[i - 1];
    if (!(span > 0)) continue;
    const share = (tS[i] - tS[i - 1]) / span;
    // Variance of a value minus a weighted mean of its neighbours: 1 + share^2 + (1 - share)^2.
    const gain = Math.sqrt(1 + share * share + (1 - share) * (1 - share));
    off[count] = Math.abs(value[i] - value[i - 1] - share * (value[i + 1] - value[i - 1])) / gain;
    count += 1;
  }
  const least = quantum / Math.sqrt(12);
  return count < 10 ? least : Math.max(least, median(off.subarray(0, count)) / MEDIAN_SHARE);
}
