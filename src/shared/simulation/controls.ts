/** What the driver (and, for a push, somebody's hands) ask of the car in one millisecond. Plain data. */

/** Written by the manoeuvres, read by the car model. */
export interface Controls {
  /** Torque asked for at the motor shaft, Nm, driving positive, before any limit. */
  torqueNm: number;
  /** What the pedal shows, percent. */
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
