/**
 * How motor speed and ground speed differ under force: a slip curve that bends, and shafts that twist. Holds the prior knowledge of both
 * that every fit uses. Pure; near zero force it is a straight line.
 */

import { choleskyOf, solveLower } from "../kernel/cholesky.ts";

/**
 * Slip = stiffness x force x (1 + bend x load share + THIRD x (bend x load share)^2), load share being force over the load
 * on the tyre. At a friction of 1 the brush model gives a bend of 1/3, a saturating exponential 1/2, other curves a tenth;
 * on a wet road all of them twice that, as half the force saturates the tyre (all from memory).
 */
export const SLIP_BEND = 0.4;
export const SLIP_BEND_SIGMA = 0.3;
/** Series of the brush model: 5/3; of the exponential: 4/3. */
const THIRD = 1.5;

/**
 * Twist of the driveline, rad at the wheel per Nm there: shafts and mounts of 10,000 Nm/rad, from nearly rigid to 3,500 (from memory).
 * While torque rises, the motor is ahead of the wheel. The tyre's contact patch has a lag of the same shape, smaller and of opposite sign.
 */
export const TWIST = 1e-4;
export const TWIST_SIGMA = 1e-4;

/** Joint knowledge of slip per Nm, bend and twist. */
export interface SlipKnowledge {
  readonly mean: readonly [number, number, number];
  /** Row by row. */
  readonly covariance: ArrayLike<number>;
}

/** What is known before any drive, apart from slip per Nm itself. */
export function typicalSlip(slipPerNm: number, sigma: number): SlipKnowledge {
  const covariance = [sigma ** 2, 0, 0, 0, SLIP_BEND_SIGMA ** 2, 0, 0, 0, TWIST_SIGMA ** 2];
  return { mean: [slipPerNm, SLIP_BEND, TWIST], covariance };
}

/**
 * The same as three independent observations of unit variance: weights x [slip, bend, twist] = weights x mean. Throws RangeError where the
 * matrix is not a covariance.
 */
export function statementsOf({ covariance }: SlipKnowledge): readonly Float64Array[] {
  const lower = choleskyOf(Float64Array.from(covariance), 3);
  if (lower === null) throw new RangeError(`Expected a covariance of slip, bend and twist, got ${Array.from(covariance).join(" ")}`);
  const columns = [0, 1, 2].map((j) =>
    solveLower(
      lower,
      3,
      [0, 1, 2].map((i) => (i === j ? 1 : 0)),
    ),
  );
  return [0, 1, 2].map((i) => Float64Array.from(columns, (column) => column[i]));
}

/**
 * Share of the speed that stays uncertain at zero force after fitting a slip curve to a drive with this slip (root mean square) and bend x
 * load share. Two parts: `loss` of the slip, for gear loss and load, which differ between driving and braking; and as much as the last term
 * of the series.
 */
export function openAtZeroForce(slip: number, bentShare: number, loss: number): number {
  return Math.abs(slip) * (loss + THIRD * bentShare * bentShare);
}

/** The torque that would give the same slip on a straight line. */
export function bentTorque(torqueNm: number, loadShare: number, bend: number): number {
  const x = bend * loadShare;
  return torqueNm * (1 + x + THIRD * x * x);
}

/** Its derivative with respect to the bend. */
export function bentTorqueByBend(torqueNm: number, loadShare: number, bend: number): number {
  return torqueNm * loadShare * (1 + 2 * THIRD * bend * loadShare);
}
