/**
 * Friction used against slip on one surface, and the Magic Formula fitted to it. Where the peak was not reached, best slip and peak are
 * null and `why` says so.
 */
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
  /** Largest slip held under load, a fraction; null where no sample could be used. */
  readonly largestSlip: number | null;
  readonly curve: readonly GripPoint[];
  /** The fitted formula, also where the peak was not reached; it is then valid only up to `largestSlip`. Null where none fits. */
  readonly formula: GripFormula | null;
  /**
   * Formulas that scatter as the intervals say (without the set-up's share), for further calculation with the uncertainty; empty where
   * there is no formula.
   */
  readonly resampled: readonly GripFormula[];
  /** Each run's friction over the curve's: 1.03 means 3 % more grip. */
  readonly runGrip: readonly { readonly run: number; readonly ratio: Figure }[];
  /** Sentences: runs that disagree, warming, too few data. */
  readonly notes: readonly string[];
}

/** Friction at a slip ratio; an odd function. */
export function frictionAt({ B, C, D, E }: GripFormula, slip: number): number {
  const x = B * slip;
  return D * Math.sin(C * Math.atan(x - E * (x - Math.atan(x))));
}
