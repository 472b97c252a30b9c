/**
 * The day of each run as people count it: by the date where the car stood, not by UTC, whose midnight is a morning in one part of the world and
 * an afternoon in another. A run of unknown time belongs to no day.
 */
import { DAY_MS, isoDate } from "../kernel/civil-date.ts";

export interface DrivenAt {
  /** UTC, ms since 1970; null unknown. */
  readonly startedAtMs: number | null;
  /** Degrees east of Greenwich; null unknown. */
  readonly lonDeg: number | null;
}

/** A test that goes on past midnight is one day; only a longer pause begins another. Common practice, no source. */
const LONGEST_PAUSE_MS = 6 * 3_600_000;
/** The sun's time: the earth turns by 15 degrees an hour. Zones of law differ from it by less than a night. */
const MS_PER_DEGREE = DAY_MS / 360;

/** "2031-05-04" for each, in the order given. A place that is unknown is taken from the day's other runs, else it is UTC's. */
export function drivingDays(runs: readonly DrivenAt[]): (string | null)[] {
  const days = runs.map((): string | null => null);
  const timed = runs.flatMap(({ startedAtMs }, i) => (startedAtMs === null ? [] : [{ i, startedAtMs }]));
  timed.sort((a, b) => a.startedAtMs - b.startedAtMs);
  let from = 0;
  timed.forEach(({ startedAtMs }, k) => {
    const next = timed[k + 1];
    if (next !== undefined && next.startedAtMs - startedAtMs < LONGEST_PAUSE_MS) return;
    const together = timed.slice(from, k + 1);
    from = k + 1;
    const lonDeg = together.map(({ i }) => runs[i]?.lonDeg ?? null).find((known) => known !== null) ?? 0;
    const first = together[0]?.startedAtMs ?? startedAtMs;
    const day = isoDate(Math.floor((first + lonDeg * MS_PER_DEGREE) / DAY_MS));
    for (const { i } of together) days[i] = day;
  });
  return days;
}
