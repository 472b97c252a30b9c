/** Whether two logs can be of the same drive, by when each begins and ends: clocks an hour or a day apart are told in words. Never fails. */
import { US_PER_S } from "../../../shared/kernel/units.ts";

export interface LogSpan {
  readonly firstUs: number;
  readonly lastUs: number;
}

export interface SpanTrouble {
  /** True where nothing of one log falls into the other. */
  readonly apart: boolean;
  readonly words: string;
}

/** Less of the shorter log than this inside the other is odd. */
const LEAST_SHARED = 0.5;
/** Of snippets nothing can be told, unless they are a minute apart. */
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
      words: `Logs ${spans} (UTC by their stamps): they share no moment, ${offset}. Name the logs of one drive; where one clock was wrong by an hour or a day, mend its stamps first`,
    };
  return {
    apart: false,
    words: `Logs ${spans} (UTC by their stamps): only ${lengthOf(sharedUs / US_PER_S)} of them are of the same time, ${offset}; outside of that nothing is timed. Was one clock wrong?`,
  };
}

const textOf = (utcUs: number) => new Date(utcUs / 1000).toISOString().slice(0, 19).replace("T", " ");

/** In the unit that shows it best: an hour's error of a clock is to be seen as one. */
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
