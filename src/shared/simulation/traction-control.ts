/** Slip-limiting controller of the simulated car: cuts the torque command while the driven axle runs ahead of the road. Never fails. */

export interface TractionControl {
  /** Command in Nm for a request, one call a millisecond. */
  step(requestNm: number, slipSpeedMps: number, groundSpeedMps: number, enabled: boolean): number;
  /** True while the command is held below the request. */
  active(): boolean;
}

// Tuned by hand on this model: settles in about 0.2 s without hunting.
const KP_NM_PER_MPS = 85;
const KI_NM_PER_M = 900;
const LEAST_TARGET_MPS = 0.32;
const TARGET_SLIP = 0.085;
const SENSOR_LAG_MS = 6;

/** PI on slip speed with the integrator kept between zero and the request. */
export function createTractionControl(): TractionControl {
  let limitNm = 0;
  let slipMps = 0;
  let cutting = false;
  return {
    step(requestNm, slipSpeedMps, groundSpeedMps, enabled) {
      slipMps += (slipSpeedMps - slipMps) / SENSOR_LAG_MS;
      if (!enabled || requestNm <= 0) {
        cutting = false;
        limitNm = Math.max(requestNm, 0);
        return requestNm;
      }
      const excessMps = slipMps - Math.max(LEAST_TARGET_MPS, TARGET_SLIP * groundSpeedMps);
      if (!cutting && excessMps < 0) {
        limitNm = requestNm;
        return requestNm;
      }
      cutting = true;
      limitNm = Math.min(requestNm, Math.max(0, limitNm - KI_NM_PER_M * excessMps * 1e-3));
      const commandNm = Math.min(requestNm, Math.max(0, limitNm - KP_NM_PER_MPS * excessMps));
      if (limitNm >= requestNm && excessMps < 0) cutting = false;
      return commandNm;
    },
    active: () => cutting,
  };
}
