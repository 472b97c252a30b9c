/** A stored print as seam data, for tiles and for the passenger's view at rest; unknown stays NaN. */
import type { RunRow } from "../../shared/contract/contract.ts";
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
