/**
 * A run's print for the row of prints: slip above, torque held back below, one value each 50 ms from movement on. Unknown stays null. Never
 * fails.
 */
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import type { RunSamples } from "../../../shared/run/run.ts";
import { PRINT_STEP_S, type RunPrint } from "../../../shared/run/run-print.ts";

/** The print shows a launch, not the drive back: enough for a quarter mile. */
const LONGEST_S = 20;
/** A torque command this far below the request counts as an intervention where no signal shows it, Nm. */
const HELD_BACK_NM = 5;

const round = (value: number, digits: number) => (Number.isFinite(value) ? Number(value.toFixed(digits)) : null);

export function printOf(samples: RunSamples, movementS: number, endS: number): RunPrint {
  const { tS, slipSpeedMps, roles } = samples;
  const slipKmh: (number | null)[] = [];
  const heldNm: (number | null)[] = [];
  const intervening: boolean[] = [];
  const at = (role: string, row: number) => roles[role]?.[row] ?? Number.NaN;
  let row = 0;
  for (let t = movementS; t <= Math.min(endS, movementS + LONGEST_S); t = movementS + slipKmh.length * PRINT_STEP_S) {
    while (row < tS.length && tS[row] < t) row += 1;
    if (row === tS.length) break;
    const asked = at("torqueRequest", row);
    slipKmh.push(round(slipSpeedMps[row] * KMH_PER_MPS, 2));
    heldNm.push(round(Math.max(0, asked - at("torqueDelivered", row)), 1));
    intervening.push(
      roles.tractionControlActive === undefined ? asked - at("torqueCommand", row) > HELD_BACK_NM : at("tractionControlActive", row) > 0,
    );
  }
  return { slipKmh, heldNm, intervening };
}
