/** A book's runs by the day they were driven on; runs of unknown time are a day of their own. Computed once for each list of runs. */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { dayWord } from "../../screen/format.ts";

export interface RunDay {
  /** With its year where the book has more than one; "Day unknown" without a time. */
  readonly word: string;
  readonly runs: readonly RunRow[];
}

const known = new WeakMap<readonly RunRow[], readonly RunDay[]>();
const yearOf = (day: string) => day.slice(0, 4);

function split(runs: readonly RunRow[]): RunDay[] {
  const days = new Map<string | undefined, RunRow[]>();
  for (const run of runs) {
    const those = days.get(run.day);
    if (those === undefined) days.set(run.day, [run]);
    else those.push(run);
  }
  const years = new Set([...days.keys()].flatMap((day) => (day === undefined ? [] : [yearOf(day)])));
  const word = (day: string) => `${dayWord(day)}${years.size > 1 ? ` ${yearOf(day)}` : ""}`;
  return [...days].map(([day, those]) => ({ word: day === undefined ? "Day unknown" : word(day), runs: those }));
}

/** In the order of the book. */
export function runDays(runs: readonly RunRow[]): readonly RunDay[] {
  const days = known.get(runs) ?? split(runs);
  known.set(runs, days);
  return days;
}
