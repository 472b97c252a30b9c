/**
 * Spans in which a stream was silent: what was not heard is unknown, and nothing is interpolated over it. The stream's normal steps are no
 * silence.
 */
import { median } from "../kernel/statistics.ts";
import { indexAtOrBefore } from "./timed-lookup.ts";

export interface Silence {
  /** The last reading before the silence and the first after it; the ends of the requested span where there is none. */
  readonly fromS: number;
  readonly toS: number;
}

/** A slow message's normal steps are no silence. */
const STEPS = 3.5;
/** Readings beside the requested span that show the stream's own rate. */
const BESIDE = 100;

/** Silences that overlap `fromS` to `toS` and are longer than `leastS` and than 3.5 of the stream's own steps. Times never fall. */
export function silencesOf(tS: ArrayLike<number>, fromS: number, toS: number, leastS: number): Silence[] {
  const first = Math.max(0, indexAtOrBefore(tS, fromS));
  const last = Math.min(tS.length - 1, indexAtOrBefore(tS, toS) + 1);
  const longest = Math.max(leastS, STEPS * stepOf(tS, first - BESIDE, last + BESIDE));
  const found: Silence[] = [];
  const add = (from: number, to: number) => {
    if (to - from > longest && from < toS && to > fromS) found.push({ fromS: from, toS: to });
  };
  if (tS.length === 0) return [{ fromS, toS }];
  add(fromS, tS[0]);
  for (let i = first + 1; i <= last; i++) add(tS[i - 1], tS[i]);
  add(tS[tS.length - 1], toS);
  return found;
}

/** Median step between two indices; 0 where there are fewer than two readings. */
function stepOf(tS: ArrayLike<number>, from: number, to: number): number {
  const steps: number[] = [];
  for (let i = Math.max(1, from); i <= Math.min(tS.length - 1, to); i++) steps.push(tS[i] - tS[i - 1]);
  return steps.length === 0 ? 0 : median(steps);
}
