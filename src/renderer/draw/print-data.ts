/** A stored print as seam data, for tiles and for the passenger's view at rest; unknown stays NaN. */
import type { RunRow } from "../../shared/contract/contract.ts";
import type { ChartTable } from "./chart-table.ts";
import type { SeamData } from "./seam-columns.ts";

/** The print's own step: one value each 50 ms from movement. */
export const PRINT_STEP_S = 0.05;

export function printData(run: RunRow): SeamData {
  const known = (values: readonly (number | null)[]) => values.map((value) => value ?? Number.NaN);
  return {
    timeS: run.print.slipKmh.map((_, i) => i * PRINT_STEP_S),
    slipKmh: known(run.print.slipKmh),
    heldNm: known(run.print.heldNm),
    intervening: run.print.intervening.map(Number),
  };
}

/** The prints of some runs side by side, one row each 50 ms from movement. */
export function printTable(runs: readonly RunRow[]): ChartTable {
  const length = Math.max(0, ...runs.map(({ print }) => print.slipKmh.length));
  return {
    columns: [
      { name: "Time from movement", unit: "s" },
      ...runs.flatMap(({ id, label }) => [
        { name: `Run ${id}, ${label}: slip`, unit: "km/h" },
        { name: `Run ${id}: held back`, unit: "Nm" },
        { name: `Run ${id}: control intervening`, unit: "1 yes, 0 no" },
      ]),
    ],
    rows: Array.from({ length }, (_, i) => [
      Number((i * PRINT_STEP_S).toFixed(2)),
      ...runs.flatMap(({ print }) => [
        print.slipKmh[i],
        print.heldNm[i],
        print.intervening[i] === undefined ? null : Number(print.intervening[i]),
      ]),
    ]),
  };
}
