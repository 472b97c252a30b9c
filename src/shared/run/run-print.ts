/** A run's print, the small picture of a launch: slip and torque held back, from movement on. */

/** Time between two values of a print, s. */
export const PRINT_STEP_S = 0.05;

/** One value a step, from movement on; null unknown. */
export interface RunPrint {
  readonly slipKmh: readonly (number | null)[];
  readonly heldNm: readonly (number | null)[];
  readonly intervening: readonly boolean[];
}
