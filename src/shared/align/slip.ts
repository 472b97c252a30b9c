/** Slip at one instant as docs/design.md defines it (SAE J670, ISO 8855: over ground speed, positive driving), with what is uncertain. */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import type { Calibration } from "./calibration.ts";

/** Below this speed only slip speed is given, not the ratio. */
export const LEAST_RATIO_MPS = 10 * MPS_PER_KMH;

export interface SlipInput {
  /** Driven wheel, rad/s: motor speed over the gear ratio, or a sensor over its scale. */
  readonly spinRadps: number;
  readonly groundSpeedMps: number;
  readonly groundSigmaMps: number;
  readonly accelerationMps2: number;
}

export interface Slip {
  /** w R - v. */
  readonly speedMps: number;
  readonly speedSigmaMps: number;
  /** (w R - v) / v; null below 10 km/h. */
  readonly ratio: number | null;
  readonly ratioSigma: number | null;
}

/** Slip with its uncertainty from radius, receiver delay (as a speed: delay error times acceleration) and ground speed. */
export function slipAt({ spinRadps, groundSpeedMps, groundSigmaMps, accelerationMps2 }: SlipInput, calibration: Calibration): Slip {
  const { rollingRadiusM, gnssDelayS } = calibration;
  const wheelMps = spinRadps * rollingRadiusM.value;
  const speedMps = wheelMps - groundSpeedMps;
  const wheelSigma = (Math.abs(spinRadps) * rollingRadiusM.plusMinus95) / TWO_SIDED_95;
  const groundSigma = Math.hypot(groundSigmaMps, (accelerationMps2 * gnssDelayS.plusMinus95) / TWO_SIDED_95);
  const speedSigmaMps = Math.hypot(wheelSigma, groundSigma);
  if (groundSpeedMps < LEAST_RATIO_MPS) return { speedMps, speedSigmaMps, ratio: null, ratioSigma: null };
  // d(wR/v - 1): an error of ground speed is multiplied by wheel speed over v.
  const ratioSigma = Math.hypot(wheelSigma, (groundSigma * wheelMps) / groundSpeedMps) / groundSpeedMps;
  return { speedMps, speedSigmaMps, ratio: speedMps / groundSpeedMps, ratioSigma };
}
