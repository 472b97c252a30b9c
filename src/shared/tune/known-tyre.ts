/** A grip curve as the limit of a launch. Null where no formula fits the curve. */
import { frictionAt, type GripCurve, type GripFormula } from "./grip-curve.ts";
import type { TyreLimit } from "./quickest.ts";

/** `reached` is false where the runs never passed the peak: the limit is then the most friction that was seen. */
export interface KnownTyre extends TyreLimit {
  readonly reached: boolean;
  /** Best slip; where it was not reached, the formula's. Good enough to recognise wheels that spin at very low speed. */
  readonly spinsFrom: number;
}

/** No road car's tyre has its best slip beyond this (common practice, no source). */
const MOST_BEST_SLIP = 0.6;
const SLIP_STEP = 0.001;

/** Where the formula is largest, up to `mostSlip`. */
function peakOf(formula: GripFormula, mostSlip: number): { slip: number; friction: number } {
  let best = { slip: 0, friction: 0 };
  for (let slip = SLIP_STEP; slip <= mostSlip + 1e-9; slip += SLIP_STEP) {
    const friction = frictionAt(formula, slip);
    if (friction > best.friction) best = { slip, friction };
  }
  return best;
}

/** `formula` replaces the curve's own, such as one from resampled runs. */
export function knownTyre(curve: GripCurve, formula: GripFormula | null = curve.formula): KnownTyre | null {
  if (formula === null) return null;
  const { bestSlip, peakFriction, largestSlip } = curve;
  const along = (slip: number) => frictionAt(formula, slip);
  if (bestSlip === null || peakFriction === null) {
    if (largestSlip === null || !(largestSlip > 0)) return null;
    const { slip, friction } = peakOf(formula, largestSlip);
    const spinsFrom = Math.max(largestSlip, peakOf(formula, MOST_BEST_SLIP).slip);
    return { frictionAt: along, bestSlip: slip, peakFriction: friction, reached: false, spinsFrom };
  }
  const { slip, friction } =
    formula === curve.formula ? { slip: bestSlip.value, friction: along(bestSlip.value) } : peakOf(formula, MOST_BEST_SLIP);
  return { frictionAt: along, bestSlip: slip, peakFriction: friction, reached: true, spinsFrom: slip };
}

/** The same tyre with its friction multiplied by `grip`: another road or another temperature. */
export const times = (tyre: KnownTyre, grip: number): KnownTyre => ({
  ...tyre,
  frictionAt: (slip) => grip * tyre.frictionAt(slip),
  peakFriction: grip * tyre.peakFriction,
});
