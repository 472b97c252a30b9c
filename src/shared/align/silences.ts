/** Spans in which a stream said nothing: what was not heard is not known, and nothing is bridged over it. Steps of the stream's own rate are no silence. */
import { median } from "../kernel/statistics.ts";
import { indexAtOrBefore } from "./timed-lookup.ts";

export interface Silence {
  /** The last reading before, and the first after; the asked span's own ends where there is none. */
  readonly fromS: number;
  readonly toS: number;
}

/** A slow message's own steps are no hole. */
const STEPS = 3.5;
/** Readings beside the asked span that tell the stream's own rate. */
const BESIDE = 100;

/** Silences of more than `leastS`, and of more than 3.5 of the stream's own steps, that overlap `fromS` to `toS`. Times never fall. */
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

/** Median step between two indices; 0 where fewer than two readings are there. */
function stepOf(tS: ArrayLike<number>, from: number, to: number): number {
  const steps: number[] = [];
  for (let i = Math.max(1, from); i <= Math.min(tS.length - 1, to); i++) steps.push(tS[i] - tS[i - 1]);
  return steps.length === 0 ? 0 : median(steps);
}
