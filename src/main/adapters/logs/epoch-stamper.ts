/**
 * Gives times to lines of a receiver log without arrival stamps, by their own epochs (docs/design.md: such a line is taken to arrive at its
 * epoch). Null where no date can be found.
 */
import { US_PER_S } from "../../../shared/kernel/units.ts";

const MS_PER_DAY = 86_400_000;
const HALF_DAY_MS = MS_PER_DAY / 2;
/** Sentences whose first field is UTC; GLL has it in the fifth and is not needed here. */
const TIMED = /^\$..(RMC|GGA|GNS|ZDA|GST|GBS),(\d{2})(\d{2})(\d{2}(?:\.\d+)?)(?:,|$)/;
const RMC_DATE = /^\$..RMC,(?:[^,]*,){8}(\d{2})(\d{2})(\d{2})(?:,|\*|$)/;
const ZDA_DATE = /^\$..ZDA,[^,]*,(\d{2}),(\d{2}),(\d{4})/;
/** NMEA years with two digits: 80 and later belong to the last century (the GPS epoch is 1980). */
const yearOf = (two: number) => (two >= 80 ? 1900 + two : 2000 + two);

function checksumHolds(text: string): boolean {
  const star = text.lastIndexOf("*");
  if (star < 0) return true;
  let sum = 0;
  for (let i = 1; i < star; i += 1) sum ^= text.charCodeAt(i);
  return Number.parseInt(text.slice(star + 1, star + 3), 16) === sum;
}

function dayOf(text: string): number | null {
  const rmc = RMC_DATE.exec(text);
  if (rmc !== null) return Date.UTC(yearOf(Number(rmc[3])), Number(rmc[2]) - 1, Number(rmc[1]));
  const zda = ZDA_DATE.exec(text);
  return zda === null ? null : Date.UTC(Number(zda[3]), Number(zda[2]) - 1, Number(zda[1]));
}

function timeOfDayMs(text: string): number | null {
  const timed = TIMED.exec(text);
  return timed === null ? null : (Number(timed[2]) * 3600 + Number(timed[3]) * 60 + Number(timed[4])) * 1000;
}

interface Dated {
  readonly dayMs: number;
  readonly timeMs: number;
}

/** The date in the log's first sentence with one. */
function firstDate(chunks: Iterable<Buffer>): Dated | null {
  let rest = "";
  for (const chunk of chunks) {
    const lines = (rest + chunk.toString("latin1")).split("\n");
    rest = lines.pop() ?? "";
    for (const line of lines) {
      const text = line.trim();
      const dayMs = dayOf(text);
      const timeMs = timeOfDayMs(text);
      if (dayMs !== null && timeMs !== null && checksumHolds(text)) return { dayMs, timeMs };
    }
  }
  return null;
}

/** `chunks` opens the log again; called only if a line without a stamp is met. */
export function createEpochStamper(chunks: () => Iterable<Buffer>): (line: Uint8Array) => number | null {
  let dayMs: number | null = null;
  let timeMs = 0;
  let looked = false;
  return (line) => {
    const text = Buffer.from(line).toString("latin1");
    if (!looked) {
      looked = true;
      const first = firstDate(chunks());
      if (first !== null) ({ dayMs, timeMs } = first);
    }
    if (dayMs === null) return null;
    const told = checksumHolds(text) ? timeOfDayMs(text) : null;
    if (told !== null) {
      if (told < timeMs - HALF_DAY_MS) dayMs += MS_PER_DAY;
      if (told > timeMs + HALF_DAY_MS) dayMs -= MS_PER_DAY;
      timeMs = told;
    }
    return Math.round((dayMs + timeMs) * (US_PER_S / 1000));
  };
}
