/** Looks up values in columns ordered by time. Outside of the column or past `staleS` the answer is NaN: unknown, never the last value. */
import type { TimedColumn } from "./aligned-recording.ts";

/** Index of the last element at or before t; -1 when t lies before all of them. */
export function indexAtOrBefore(times: ArrayLike<number>, t: number): number {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (times[middle] <= t) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** Value of the last frame at or before t; NaN when it is older than staleS. */
export function heldAt(column: TimedColumn | undefined, t: number, staleS: number): number {
  if (!column) return Number.NaN;
  const i = indexAtOrBefore(column.tS, t);
  return i >= 0 && t - column.tS[i] <= staleS ? column.value[i] : Number.NaN;
}

/** Straight line between the frames around t; the last value holds for staleS; NaN across a gap longer than staleS. */
export function lineAt(column: TimedColumn | undefined, t: number, staleS: number): number {
  if (!column) return Number.NaN;
  const i = indexAtOrBefore(column.tS, t);
  if (i < 0) return Number.NaN;
  if (i + 1 >= column.tS.length) return t - column.tS[i] <= staleS ? column.value[i] : Number.NaN;
  const span = column.tS[i + 1] - column.tS[i];
  if (span > staleS) return Number.NaN;
  return span > 0 ? column.value[i] + ((t - column.tS[i]) / span) * (column.value[i + 1] - column.value[i]) : column.value[i + 1];
}

/** Time at which values rise through a level between samples i and i+1, on a straight line. */
export function crossingBetween(t0: number, v0: number, t1: number, v1: number, level: number): number {
  return v1 === v0 ? t1 : t0 + ((level - v0) / (v1 - v0)) * (t1 - t0);
}
