/**
 * The Magic Formula by the parameters that people ask for: best slip, peak friction, and two numbers of shape. C follows from them, so the
 * peak always exists and lies at the best slip. Pure; parameters that are not numbers give NaN.
 */
import type { GripFormula } from "./grip-curve.ts";

/** ln of best slip, ln of peak friction, ln of B times best slip, ln of 1 - E. */
export type GripParameters = ArrayLike<number>;

export const GRIP_PARAMETERS = 4;

/** The same curve as B, C, D, E. */
export function formulaOf(parameters: GripParameters): GripFormula {
  const xBest = Math.exp(parameters[2]);
  const E = 1 - Math.exp(parameters[3]);
  const C = Math.PI / (2 * Math.atan(bent(xBest, E)));
  return { B: xBest / Math.exp(parameters[0]), C, D: Math.exp(parameters[1]), E };
}

/** Slope of friction at zero slip: B C D. */
export const slopeAtOrigin = ({ B, C, D }: GripFormula): number => B * C * D;

const bent = (x: number, E: number) => x - E * (x - Math.atan(x));

export interface GripAt {
  readonly friction: number;
  /** Derivative by slip. */
  readonly slope: number;
}

/** Writes the derivatives of friction by the four parameters into `derivatives`; returns friction and its derivative by slip. */
export function gripAt(parameters: GripParameters, slip: number, derivatives: Float64Array): GripAt {
  const best = Math.exp(parameters[0]);
  const D = Math.exp(parameters[1]);
  const xBest = Math.exp(parameters[2]);
  const rest = Math.exp(parameters[3]);
  const E = 1 - rest;
  const x = (xBest * slip) / best;
  const phi = bent(x, E);
  const phiBest = bent(xBest, E);
  const angleBest = Math.atan(phiBest);
  const C = Math.PI / (2 * angleBest);
  const angle = Math.atan(phi);
  const cosine = D * Math.cos(C * angle);
  const byPhi = (cosine * C) / (1 + phi * phi);
  const byC = cosine * angle;
  const phiByX = 1 - E + E / (1 + x * x);
  const CByPhiBest = -C / angleBest / (1 + phiBest * phiBest);
  const phiBestByX = 1 - E + E / (1 + xBest * xBest);
  const friction = D * Math.sin(C * angle);
  derivatives[0] = -byPhi * phiByX * x;
  derivatives[1] = friction;
  derivatives[2] = byPhi * phiByX * x + byC * CByPhiBest * phiBestByX * xBest;
  derivatives[3] = byPhi * rest * (x - Math.atan(x)) + byC * CByPhiBest * rest * (xBest - Math.atan(xBest));
  return { friction, slope: (byPhi * phiByX * xBest) / best };
}
