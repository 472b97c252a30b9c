/** One look of the control model after the other. Pure arithmetic, never fails. */
import { type ControlModel, rateAt } from "./control-model.ts";

interface ControlState {
  /** Torque that the control's integral allows, Nm. */
  sumNm: number;
  cutting: boolean;
}

/** One look, `dtS` after the last: the most torque that it allows, Infinity where it does not intervene. Changes `state`. */
export function look(model: ControlModel, state: ControlState, excessMps: number, askedNm: number, dtS: number): number {
  if (!state.cutting && excessMps < 0) {
    state.sumNm = askedNm;
    return Number.POSITIVE_INFINITY;
  }
  state.cutting = true;
  state.sumNm = Math.min(askedNm, Math.max(model.floorNm, state.sumNm + rateAt(model, excessMps) * dtS));
  if (state.sumNm >= askedNm && excessMps < 0) state.cutting = false;
  return Math.max(model.floorNm, state.sumNm - model.nmPerMps * excessMps);
}
