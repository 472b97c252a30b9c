/** Friction of a tyre by slip: D sin(C atan(B k - E (B k - atan(B k)))), k a fraction. Never fails; odd in k. */

/** Coefficients as published for a smooth road surface (test/shared/simulation names the table). */
export interface TyreCurve {
  readonly b: number;
  readonly c: number;
  readonly d: number;
  readonly e: number;
}

export type Surface = "dry" | "wet";

export const TYRE_CURVES: Readonly<Record<Surface, TyreCurve>> = {
  dry: { b: 10, c: 1.9, d: 1, e: 0.97 },
  wet: { b: 12, c: 2.3, d: 0.82, e: 1 },
};

/** Friction coefficient (driving positive) at slip ratio `slip`. */
export function frictionAt(curve: TyreCurve, slip: number): number {
  const bk = curve.b * slip;
  return curve.d * Math.sin(curve.c * Math.atan(bk - curve.e * (bk - Math.atan(bk))));
}
