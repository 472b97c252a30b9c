/**
 * A control that limits slip, as far as its car's bus shows it: it allows a slip speed, looks at the wheels now and then, and answers late. What
 * it allows is a line through three speeds; above it torque is taken away by how far and how long slip is over, below it is given back. Pure
 * arithmetic, never fails.
 */

export interface ControlModel {
  /** Slip speed it allows at each of AIM_SPEEDS_MPS, m/s; straight lines between, on beyond the last as a share of ground speed. */
  readonly aimMps: readonly [number, number, number];
  /** Nm taken away for each m/s over what is allowed. */
  readonly nmPerMps: number;
  /** Nm taken away each second for each m/s over what is allowed. */
  readonly nmPerM: number;
  /** Most that it gives back in a second, Nm. */
  readonly backNmPerS: number;
  /** From a look at the wheels to the command that comes of it, s. */
  readonly lateS: number;
  /** It looks this often, s; 0: as often as the model steps. */
  readonly everyS: number;
}

/** 0, 15 and 60 km/h: standing, where slip ratios begin to mean something, and near the gates' end. */
export const AIM_SPEEDS_MPS: readonly [number, number, number] = [0, 15 / 3.6, 60 / 3.6];

/** Slip speed that the control allows at a ground speed, m/s. */
export function aimAt([slow, middle, fast]: ControlModel["aimMps"], speedMps: number): number {
  const [, at, end] = AIM_SPEEDS_MPS;
  if (speedMps <= at) return slow + ((middle - slow) * Math.max(0, speedMps)) / at;
  if (speedMps <= end) return middle + ((fast - middle) * (speedMps - at)) / (end - at);
  return (fast * speedMps) / end;
}
