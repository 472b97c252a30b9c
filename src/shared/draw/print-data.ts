/** A stored print as seam data; unknown stays NaN. */
import { PRINT_STEP_S, type RunPrint } from "../run/run-print.ts";
import type { SeamData } from "./seam-columns.ts";

export function printData({ slipKmh, heldNm, intervening }: RunPrint): SeamData {
  const known = (values: readonly (number | null)[]) => values.map((value) => value ?? Number.NaN);
  return {
    timeS: slipKmh.map((_, i) => i * PRINT_STEP_S),
    slipKmh: known(slipKmh),
    heldNm: known(heldNm),
    intervening: intervening.map(Number),
  };
}
