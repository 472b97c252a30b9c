/** The control model at work: one look after the other. Pure arithmetic, never fails. */
import { type ControlModel, rateAt } from "./control-model.ts";

interface ControlState {
  /** Torque the control would allow by its sum over time, Nm. */
  sumNm: number;
  cutting: boolean;
}

/** One look, `dtS` after the last: most torque that it lets through, Infinity where it does nothing. Changes `state`. */
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
