/** Runs found by words: each must stand in the run's number, label, note, flags, direction or state. Without words every run is found. Pure. */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { flagWords } from "../../../shared/run/flag-words.ts";
import { marked } from "../../../shared/kernel/shown-units.ts";
import { heading, number } from "../../screen/format.ts";
import { said } from "../../screen/units.ts";

function textOf(run: RunRow): string {
  const flags = run.flags.flatMap((flag) => [flagWords(flag), said(marked(flag.why))]);
  const state = [run.use ? "" : "set aside", run.final ? "" : "provisional", flags.length > 0 ? "flagged" : ""];
  const time = run.seconds === null ? "not reached" : number(run.seconds, 2);
  return [`run ${run.id}`, run.label, run.note, heading(run.courseDeg), time, ...flags, ...state].join("\n").toLowerCase();
}

export function foundRuns(runs: readonly RunRow[], words: string): readonly RunRow[] {
  const sought = words
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== "");
  return sought.length === 0 ? runs : runs.filter((run) => sought.every((word) => textOf(run).includes(word)));
}
