/**
 * Whether two logs can be of the same drive, by when each begins and ends. Clocks that differ by an hour or a day are reported in words.
 * Never fails.
 */
import { US_PER_S } from "../../../shared/kernel/units.ts";

export interface LogSpan {
  readonly firstUs: number;
  readonly lastUs: number;
}

export interface SpanTrouble {
  /** True where the two logs have no time in common. */
  readonly apart: boolean;
  readonly words: string;
}

/** It is odd if less than this share of the shorter log lies within the other. */
const LEAST_SHARED = 0.5;
/** Logs shorter than this are not compared, unless they are a minute apart. */
const SHORT_US = 10 * US_PER_S;
const APART_US = 60 * US_PER_S;
const MINUTE_S = 60;
const HOUR_S = 3600;
const DAY_S = 86_400;

export function spanTrouble(can: LogSpan & { readonly file: string }, gnss: LogSpan & { readonly file: string }): SpanTrouble | null {
  const sharedUs = Math.min(can.lastUs, gnss.lastUs) - Math.max(can.firstUs, gnss.firstUs);
  const shorterUs = Math.min(can.lastUs - can.firstUs, gnss.lastUs - gnss.firstUs);
  if (sharedUs >= LEAST_SHARED * shorterUs || (sharedUs > -APART_US && shorterUs < SHORT_US)) return null;
  const spans = `${can.file} runs from ${textOf(can.firstUs)} to ${textOf(can.lastUs)}, ${gnss.file} from ${textOf(gnss.firstUs)} to ${textOf(gnss.lastUs)}`;
  const offset = `their beginnings are ${lengthOf(Math.abs(can.firstUs - gnss.firstUs) / US_PER_S)} apart`;
  if (sharedUs < 0)
    return {
      apart: true,
      words: `Logs ${spans} (UTC by their stamps): they share no moment, ${offset}. Name the logs of one drive; where one clock was wrong by an hour or a day, correct its stamps first`,
    };
  return {
    apart: false,
    words: `Logs ${spans} (UTC by their stamps): only ${lengthOf(sharedUs / US_PER_S)} of them are of the same time, ${offset}; outside of that nothing is timed. Was one clock wrong?`,
  };
}

const textOf = (utcUs: number) => new Date(utcUs / 1000).toISOString().slice(0, 19).replace("T", " ");

/** In the unit that shows the length best: an error of one hour must look like one hour. */
function lengthOf(seconds: number): string {
  const [unit, words] =
    seconds >= 0.9 * DAY_S
      ? [DAY_S, "d"]
      : seconds >= 0.9 * HOUR_S
        ? [HOUR_S, "h"]
        : seconds >= 2 * MINUTE_S
          ? [MINUTE_S, "min"]
          : [1, "s"];
  return `${(seconds / unit).toFixed(unit === 1 ? 1 : 2)} ${words}`;
}
