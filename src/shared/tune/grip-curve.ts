/** Friction used against slip on one surface, and what a Magic Formula through it says. Where the peak was not reached, best slip and peak are null and `why` says so. */
import type { Figure } from "./figure.ts";

/** D sin(C atan(B k - E (B k - atan(B k)))), k the slip ratio as a fraction (SAE J670: over ground speed). */
export interface GripFormula {
  readonly B: number;
  readonly C: number;
  readonly D: number;
  readonly E: number;
}

export interface GripPoint {
  readonly slip: number;
  readonly friction: number;
  /** 95 % band of the curve at this slip. */
  readonly low: number;
  readonly high: number;
  readonly samples: number;
}

export interface GripCurve {
  /** As noted with the runs; null: not noted. */
  readonly surface: string | null;
  readonly runs: readonly number[];
  readonly bestSlip: Figure | null;
  readonly peakFriction: Figure | null;
  /** Null where bestSlip is known. */
  readonly why: string | null;
  /** Largest slip that was held under load, a fraction; null where no sample could be used. */
  readonly largestSlip: number | null;
  readonly curve: readonly GripPoint[];
  /** The formula through the samples, also where the peak was not reached: then it holds up to `largestSlip` only. Null where none fits. */
  readonly formula: GripFormula | null;
  /** Formulas that scatter as the intervals say (the set-up's share aside), for whoever carries the uncertainty on; empty where there is no formula. */
  readonly resampled: readonly GripFormula[];
  /** Each run's friction over the curve's: 1.03 grips 3 % better. */
  readonly runGrip: readonly { readonly run: number; readonly ratio: Figure }[];
  /** Sentences: runs that disagree, warming, thin data. */
  readonly notes: readonly string[];
}

/** Friction at a slip ratio; odd in it. */
export function frictionAt({ B, C, D, E }: GripFormula, slip: number): number {
  const x = B * slip;
  return D * Math.sin(C * Math.atan(x - E * (x - Math.atan(x))));
}
