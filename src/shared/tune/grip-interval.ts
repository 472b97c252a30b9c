/**
 * How well runs tell best slip and peak friction: whole runs drawn again with replacement (samples of one run are not independent), the
 * fit's own doubt, and what no drawing sees: tyres that warm within a run, a formula that is not the tyre. One run alone has no scatter
 * to show and gets that of usual runs.
 */
import { studentQuantile } from "../judge/distributions.ts";
import { createSeededRandom } from "../judge/seeded-random.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { type GripFit, type GripRows, solveGrip } from "./fit-grip.ts";
import { GRIP_PARAMETERS, gripAt } from "./grip-shape.ts";

export interface GripInterval {
  /** Relative 95 % half widths. */
  readonly bestSlip95: number;
  readonly peakFriction95: number;
  /** Parameters of each drawing; empty for one run. */
  readonly resampled: readonly Float64Array[];
}

const DRAWINGS = 100;
/** A drawing begins at the whole fit's answer and moves little. */
const DRAWN_ITERATIONS = 4;
const SEED = 20260101;
/** Tyres warm as a run goes on while its slip mostly falls: friction over a fit by this, for each factor e of slip. */
const TILT = 0.003;
/** Runs of one surface scatter by this where one run can't show it. */
const USUAL_SCATTER = 0.015;
const FORMULA_SIGMA = 0.003;

/** Intervals of a fit over its runs. */
export function gripInterval(fit: GripFit, rows: GripRows): GripInterval {
  const runs = rows.bins.length;
  const resampled = runs > 1 ? drawings(fit, rows) : [];
  const hessian = Math.sqrt(fit.covariance[0]);
  const tilt = TILT / curvatureAtBest(fit.parameters);
  const own95 = TWO_SIDED_95 * Math.hypot(hessian, tilt);
  if (runs < 2) return { bestSlip95: 1.5 * own95, peakFriction95: TWO_SIDED_95 * Math.hypot(USUAL_SCATTER, FORMULA_SIGMA), resampled };
  // A drawing of n runs scatters by (n - 1) / n of what n runs scatter by.
  const factor = studentQuantile(0.975, runs - 1) * Math.sqrt(runs / (runs - 1));
  return {
    bestSlip95: Math.hypot(factor * deviation(resampled, fit.parameters, 0), own95),
    peakFriction95: Math.hypot(factor * deviation(resampled, fit.parameters, 1), TWO_SIDED_95 * FORMULA_SIGMA),
    resampled,
  };
}

/** Each time as many runs as there are, drawn with replacement. The seed is fixed: the same book gives the same figures. */
function drawings(fit: GripFit, rows: GripRows): Float64Array[] {
  const runs = rows.bins.length;
  const random = createSeededRandom(SEED);
  return Array.from({ length: DRAWINGS }, () => {
    const times = new Float64Array(runs);
    for (let i = 0; i < runs; i += 1) times[random.below(runs)] += 1;
    return solveGrip(rows, times, fit.parameters, DRAWN_ITERATIONS).parameters;
  });
}

/** Root mean square distance from the whole fit; half the most distant hundredth is left out, as a drawing may run away. */
function deviation(resampled: readonly Float64Array[], whole: Float64Array, j: number): number {
  const squares = resampled.map((p) => (p[j] - whole[j]) ** 2).sort((a, b) => a - b);
  const kept = squares.slice(0, Math.ceil(0.98 * squares.length));
  return Math.sqrt(kept.reduce((sum, square) => sum + square, 0) / kept.length);
}

/** How fast ln friction falls on either side of the best slip: its second derivative by ln slip, without sign. */
function curvatureAtBest(parameters: Float64Array): number {
  const by = new Float64Array(GRIP_PARAMETERS);
  const step = 0.1;
  const best = Math.exp(parameters[0]);
  const at = (k: number) => Math.log(gripAt(parameters, best * Math.exp(k * step), by).friction);
  return Math.max(1e-3, -(at(1) - 2 * at(0) + at(-1)) / step ** 2);
}
