/** A book's runs by the day they were driven on, in the reader's own zone; unknown times make a day of their own. Worked out once for each list of runs. */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { day } from "../../app/format.ts";

export interface RunDay {
  /** With its year where the book holds more than one; "Day unknown" without a time. */
  readonly word: string;
  readonly runs: readonly RunRow[];
}

const known = new WeakMap<readonly RunRow[], readonly RunDay[]>();

function split(runs: readonly RunRow[]): RunDay[] {
  const days = new Map<string, { readonly at: Date | null; readonly runs: RunRow[] }>();
  for (const run of runs) {
    const at = run.startedAt === null ? null : new Date(run.startedAt);
    const key = at === null ? "" : [at.getFullYear(), at.getMonth(), at.getDate()].join("-");
    const found = days.get(key);
    if (found === undefined) days.set(key, { at, runs: [run] });
    else found.runs.push(run);
  }
  const all = [...days.values()];
  const years = new Set(all.flatMap(({ at }) => (at === null ? [] : [at.getFullYear()])));
  return all.map(({ at, runs: those }) => ({
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
