/**
 * How well runs determine best slip and peak friction: scatter from run to run, the fit's own uncertainty, and errors that no bootstrap
 * shows (tyres that warm within a run, a formula that differs from the tyre). Groups of one run show no scatter; then that of usual runs is
 * used.
 */
import { createSeededRandom } from "../judge/seeded-random.ts";
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { drawnHalfWidth, drawRuns } from "./draw-runs.ts";
import { type GripFit, type GripRows, runPulls } from "./fit-grip.ts";
import { GRIP_PARAMETERS, gripAt } from "./grip-shape.ts";

export interface GripInterval {
  /** Relative 95 % half widths. */
  readonly bestSlip95: number;
  readonly peakFriction95: number;
  /** Parameters of curves that scatter as the intervals say. */
  readonly resampled: readonly Float64Array[];
}

/** Tyres warm during a run while its slip mostly falls: error of friction relative to a fit, for each factor e of slip. */
const TILT = 0.0025;
/** The fit treats a formula's misfit as noise, but most of it lies where it changes nothing. Measured on two generators (test/claims). */
const OWN_SHARE = 0.5;
/** No formula peaks where the tyre does to less than this, relative. */
const SHAPE_SIGMA = 0.008;
/** Scatter between runs of one surface where one run cannot show it; one run's own uncertainty is then less certain by as much. */
const USUAL_SCATTER = 0.015;
const ONE_RUN = 1.5;
const FORMULA_SIGMA = 0.003;
const CURVES_OF_ONE_RUN = 100;
/** A fixed seed: the same book gives the same figures. */
const SEED = 20260102;

/** Intervals of a fit over its runs; `groups[r]`: the group of run r. */
export function gripInterval(fit: GripFit, rows: GripRows, groups: readonly string[]): GripInterval {
  const own = Math.hypot(OWN_SHARE * Math.sqrt(fit.covariance[0]), TILT / curvatureAtBest(fit.parameters), SHAPE_SIGMA);
  const drawn = drawRuns(runPulls(rows, fit), groups);
  // Not shown by the bootstrap: sigmas of ln best slip and ln peak.
  const unseen = drawn === null ? [ONE_RUN * own, Math.hypot(USUAL_SCATTER, FORMULA_SIGMA)] : [own, FORMULA_SIGMA];
  const half = (j: number) => Math.hypot(drawn === null ? 0 : drawnHalfWidth(drawn, j), TWO_SIDED_95 * unseen[j]);
  const random = createSeededRandom(SEED);
  const shifts = drawn?.shifts ?? Array.from({ length: CURVES_OF_ONE_RUN }, () => new Float64Array(GRIP_PARAMETERS));
  const wider = (drawn?.factor95 ?? 0) / TWO_SIDED_95;
  // Each curve is as far off as the whole interval says, so that calculations with these curves include all of the uncertainty.
  const resampled = shifts.map((shift) => fit.parameters.map((value, j) => value + wider * shift[j] + (unseen[j] ?? 0) * random.normal()));
  return { bestSlip95: half(0), peakFriction95: half(1), resampled };
}

/** How fast ln friction falls on either side of the best slip: the absolute second derivative by ln slip. */
function curvatureAtBest(parameters: Float64Array): number {
  const by = new Float64Array(GRIP_PARAMETERS);
  const step = 0.1;
  const best = Math.exp(parameters[0]);
  const at = (k: number) => Math.log(gripAt(parameters, best * Math.exp(k * step), by).friction);
  return Math.max(1e-3, -(at(1) - 2 * at(0) + at(-1)) / step ** 2);
}
