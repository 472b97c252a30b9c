/** One run as a sentence, and as the table to copy. Unknown values are named or left empty. */
import { flagList } from "../../../shared/run/flag-words.ts";
import type { RunRow } from "../../../shared/contract/contract.ts";
import type { ChartTable } from "../../draw/chart-table.ts";
import { momentCells } from "../../../shared/run/moments.ts";
import { heading, number } from "../../screen/format.ts";
import type { OverlayColumns } from "./cursor-reading.ts";
import type { RunData } from "./run-data.ts";

/** "Run 8, on, east: 4.42 s to 60 mph; flagged wheelspin." */
export function runSentence(run: RunRow): string {
  const where = heading(run.courseDeg);
  const who = [`Run ${run.id}`, run.label, where].filter((part) => part !== "").join(", ");
  const flags = run.flags.filter((flag) => flag.overruled === undefined);
  const more = [run.use ? "" : "set aside", run.final ? "" : "provisional", flags.length === 0 ? "" : `flagged ${flagList(flags)}`];
  const time = run.seconds === null ? "60 mph was not reached" : `${number(run.seconds, 2)} s to 60 mph`;
  return `${[`${who}: ${time}`, ...more.filter((part) => part !== "")].join("; ")}.`;
}

/** Every column of the run, those that an overlay adds, and what was noted while driving. */
export const runTable = (data: RunData, over: OverlayColumns | null): ChartTable => {
  const columns = [...data.names.map((name) => data.column(name)), ...(over?.columns ?? [])];
  const noted = momentCells(data.timeS, data.view.moments);
  return {
    columns: [
      ...data.names.map((name) => ({ name: data.shownName(name), unit: data.unit(name) })),
      ...(over?.names ?? []),
      { name: "noted", unit: "" },
    ],
    rows: Array.from(data.timeS, (_, row) => [...columns.map((column) => column[row]), noted.get(row)]),
  };
};
