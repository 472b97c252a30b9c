/**
 * A book's runs by day, in the reader's own time zone; runs of unknown time are a day of their own. Computed once for each list of runs.
 */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { day } from "../../screen/format.ts";

export interface RunDay {
  /** With its year where the book has more than one; "Day unknown" without a time. */
  readonly word: string;
  readonly runs: readonly RunRow[];
}

/** A test that continues past midnight is one day; only a longer pause begins another. Common practice, no source. */
const LONGEST_PAUSE_MS = 6 * 3_600_000;

interface Group {
  readonly at: Date | null;
  readonly runs: RunRow[];
}

const known = new WeakMap<readonly RunRow[], readonly RunDay[]>();

const dateOf = (at: Date | null) => (at === null ? "" : [at.getFullYear(), at.getMonth(), at.getDate()].join("-"));

function split(runs: readonly RunRow[]): RunDay[] {
  const groups: Group[] = [];
  const byDate = new Map<string, Group>();
  let [last, lastMs]: [Group | undefined, number] = [undefined, Number.NaN];
  for (const run of runs) {
    const at = run.startedAt === null ? null : new Date(run.startedAt);
    const atMs = at?.getTime() ?? Number.NaN;
    let group = byDate.get(dateOf(at));
    // An unknown time continues no day: its distance is NaN.
    if (group === undefined && Math.abs(atMs - lastMs) < LONGEST_PAUSE_MS) group = last;
    if (group === undefined) {
      group = { at, runs: [] };
      groups.push(group);
    }
    byDate.set(dateOf(at), group);
    group.runs.push(run);
    [last, lastMs] = [group, atMs];
  }
  const years = new Set(groups.flatMap(({ at }) => (at === null ? [] : [at.getFullYear()])));
  return groups.map(({ at, runs: those }) => ({
    word: at === null ? "Day unknown" : `${day(at.toISOString())}${years.size > 1 ? ` ${at.getFullYear()}` : ""}`,
    runs: those,
  }));
}

/** In the order of the book. */
export function runDays(runs: readonly RunRow[]): readonly RunDay[] {
  const days = known.get(runs) ?? split(runs);
  known.set(runs, days);
  return days;
}
