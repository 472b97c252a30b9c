/**
 * A control that limits slip, as far as its car's bus shows it: it allows a slip speed, looks at the wheels now and then, and answers late. Above
 * what it allows torque is taken away by how far and how long slip is over, below it is given back. Pure arithmetic, never fails.
 */

/** Slip speed that is allowed: some standing still, and a share of ground speed, either added or whichever is more. */
export interface Aim {
  readonly standingMps: number;
  readonly share: number;
  readonly added: boolean;
}

export interface ControlModel {
  readonly aim: Aim;
  /** Nm taken away for each m/s over what is allowed. */
  readonly nmPerMps: number;
  /** Nm taken away each second for each m/s over what is allowed. */
  readonly nmPerM: number;
  /** Most that it takes away, and gives back, in a second that way, Nm. */
  readonly awayNmPerS: number;
  readonly backNmPerS: number;
  /** It never takes torque below this, Nm. */
  readonly floorNm: number;
  /** From a look at the wheels to the command that comes of it, s. */
  readonly lateS: number;
  /** It looks this often, s; 0: with every frame of the bus, or more often. */
  readonly everyS: number;
}

/** Slip speed allowed at a ground speed, m/s. */
export function aimAt({ standingMps, share, added }: Aim, speedMps: number): number {
  return added ? standingMps + share * Math.max(0, speedMps) : Math.max(standingMps, share * speedMps);
}

/** How fast torque is changed at so much slip over what is allowed, Nm/s, above 0 where it is given back. */
export function rateAt({ nmPerM, awayNmPerS, backNmPerS }: ControlModel, excessMps: number): number {
  return Math.max(-awayNmPerS, Math.min(backNmPerS, -nmPerM * excessMps));
}
