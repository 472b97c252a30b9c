/** Longitudinal tyre force after Burckhardt, with a lagged slip. Pure functions; odd inputs give finite forces. */

/** mu(s) = c1 (1 - exp(-c2 s)) - c3 s, s the wheel-normalised slip from 0 to 1 (dry asphalt: 1.2801, 23.99, 0.52). */
export interface TyreCurve {
  readonly c1: number;
  readonly c2: number;
  readonly c3: number;
}

/** Friction used at a wheel-normalised slip; odd in s. */
export function frictionAt(curve: TyreCurve, s: number): number {
  const a = Math.min(Math.abs(s), 1);
  return Math.sign(s) * (curve.c1 * (1 - Math.exp(-curve.c2 * a)) - curve.c3 * a);
}

/** Wheel-normalised slip (w R - v) / (w R) from the road-normalised (w R - v) / v while driving; the same number while braking. */
export function wheelNormalised(slip: number): number {
  return slip > 0 ? slip / (1 + slip) : Math.max(slip, -1);
}

/** Rate of the lagged slip: a contact patch needs metres of rolling to follow, fewer the more it slides. */
export function slipRate(lagged: number, slipSpeedMps: number, speedMps: number, relaxationM: number): number {
  const length = relaxationM * Math.max(0.15, Math.exp(-Math.abs(lagged) / 0.1));
  return (slipSpeedMps - Math.abs(speedMps) * lagged) / length;
}
