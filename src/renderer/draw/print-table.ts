/** The prints of some runs as a table: one row each step, from movement on; unknown is empty. */
import type { RunRow } from "../../shared/contract/contract.ts";
import { PRINT_STEP_S } from "../../shared/run/run-print.ts";
import { kmhIn, type Units } from "../../shared/kernel/shown-units.ts";
import type { ChartTable } from "./chart-table.ts";

export function printTable(runs: readonly RunRow[], units: Units): ChartTable {
  const length = Math.max(0, ...runs.map(({ print }) => print.slipKmh.length));
  return {
    columns: [
      { name: "Time from movement", unit: "s" },
      ...runs.flatMap(({ id, label }) => [
        { name: `Run ${id}, ${label}: slip`, unit: units.speed },
        { name: `Run ${id}: held back`, unit: "Nm" },
        { name: `Run ${id}: control intervening`, unit: "1 yes, 0 no" },
      ]),
    ],
    rows: Array.from({ length }, (_, i) => [
      Number((i * PRINT_STEP_S).toFixed(2)),
      ...runs.flatMap(({ print }) => [
        kmhIn(units, print.slipKmh[i]),
        print.heldNm[i],
        print.intervening[i] === undefined ? null : Number(print.intervening[i]),
      ]),
    ]),
  };
}
