/**
 * How well runs tell best slip and peak friction: scatter from run to run, the fit's own doubt, and what no drawing sees: tyres that warm within
 * a run, a formula that is not the tyre. Groups of one run have no scatter to show: then it is that of usual runs.
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

/** Tyres warm as a run goes on while its slip mostly falls: friction over a fit by this, for each factor e of slip. */
const TILT = 0.0025;
/** The fit takes a formula's misfit for noise; most of it lies where it moves nothing. Seen on two generators (test/claims). */
const OWN_SHARE = 0.7;
/** Runs of one surface scatter by this where one run can't show it, and one run's own doubt is as much less sure. */
const USUAL_SCATTER = 0.015;
const ONE_RUN = 1.5;
const FORMULA_SIGMA = 0.003;
const CURVES_OF_ONE_RUN = 100;
/** Fixed: the same book gives the same figures. */
const SEED = 20260102;

/** Intervals of a fit over its runs; `groups[r]`: what run r was driven with. */
export function gripInterval(fit: GripFit, rows: GripRows, groups: readonly string[]): GripInterval {
  const own = Math.hypot(OWN_SHARE * Math.sqrt(fit.covariance[0]), TILT / curvatureAtBest(fit.parameters));
  const drawn = drawRuns(runPulls(rows, fit), groups);
  // Unseen by drawing: sigmas of ln best slip and ln peak.
  const unseen = drawn === null ? [ONE_RUN * own, Math.hypot(USUAL_SCATTER, FORMULA_SIGMA)] : [own, FORMULA_SIGMA];
  const half = (j: number) => Math.hypot(drawn === null ? 0 : drawnHalfWidth(drawn, j), TWO_SIDED_95 * unseen[j]);
  const random = createSeededRandom(SEED);
  const shifts = drawn?.shifts ?? Array.from({ length: CURVES_OF_ONE_RUN }, () => new Float64Array(GRIP_PARAMETERS));
  const wider = (drawn?.factor95 ?? 0) / TWO_SIDED_95;
  // Each as far off as the whole interval says, so that whoever carries the curves on carries all of the doubt.
  const resampled = shifts.map((shift) => fit.parameters.map((value, j) => value + wider * shift[j] + (unseen[j] ?? 0) * random.normal()));
  return { bestSlip95: half(0), peakFriction95: half(1), resampled };
}

/** How fast ln friction falls on either side of the best slip: its second derivative by ln slip, without sign. */
function curvatureAtBest(parameters: Float64Array): number {
  const by = new Float64Array(GRIP_PARAMETERS);
  const step = 0.1;
  const best = Math.exp(parameters[0]);
  const at = (k: number) => Math.log(gripAt(parameters, best * Math.exp(k * step), by).friction);
  return Math.max(1e-3, -(at(1) - 2 * at(0) + at(-1)) / step ** 2);
}
