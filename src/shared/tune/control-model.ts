/**
 * A model of a control that limits slip, as far as the car's bus shows it. It allows a slip speed, looks at the wheels now and then, and
 * answers late. Above the allowed slip speed it takes torque away, by how far and how long slip is above; below it gives torque back. Pure
 * arithmetic, never fails.
 */

/** The allowed slip speed: a fixed part and a share of ground speed, either their sum or the larger one. */
export interface Aim {
  readonly standingMps: number;
  readonly share: number;
  readonly added: boolean;
}

export interface ControlModel {
  readonly aim: Aim;
  /** Nm taken away for each m/s above the allowed slip speed. */
  readonly nmPerMps: number;
  /** Nm taken away each second for each m/s above the allowed slip speed. */
  readonly nmPerM: number;
  /** Limits of the rate at which it takes away and gives back, Nm/s. */
  readonly awayNmPerS: number;
  readonly backNmPerS: number;
  /** It never takes torque below this, Nm. */
  readonly floorNm: number;
  /** From a look at the wheels to the command that results, s. */
  readonly lateS: number;
  /** Time between looks, s; 0: with every frame of the bus, or more often. */
  readonly everyS: number;
}

/** Slip speed allowed at a ground speed, m/s. */
export function aimAt({ standingMps, share, added }: Aim, speedMps: number): number {
  return added ? standingMps + share * Math.max(0, speedMps) : Math.max(standingMps, share * speedMps);
}

/** Rate of change of torque for this much slip above the allowed one, Nm/s; positive where torque is given back. */
export function rateAt({ nmPerM, awayNmPerS, backNmPerS }: ControlModel, excessMps: number): number {
  return Math.max(-awayNmPerS, Math.min(backNmPerS, -nmPerM * excessMps));
}
