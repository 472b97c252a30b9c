/** What the driver (or somebody who pushes the car) does in one millisecond. Plain data. */

/** Written by manoeuvres, read by the car model. */
export interface Controls {
  /** Torque requested at the motor shaft, Nm, driving positive, before any limit. */
  torqueNm: number;
  /** The pedal signal, percent. */
  pedalPercent: number;
  /** Friction brake force at the tyres of each axle, N, never negative. */
  frontBrakeN: number;
  rearBrakeN: number;
  /** Outside force along the car, N. */
  pushN: number;
  yawRateRadps: number;
  tractionControl: boolean;
}

/** Everything released. */
export function releasedControls(): Controls {
  return { torqueNm: 0, pedalPercent: 0, frontBrakeN: 0, rearBrakeN: 0, pushN: 0, yawRateRadps: 0, tractionControl: true };
}
