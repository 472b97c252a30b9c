/**
 * Fits a Magic Formula to the bins of several runs: least squares that include the uncertainty of slip (effective variance), less weight
 * for outliers, and a grip factor for each run. Weak priors from road tyres keep parts of the curve without data reasonable.
 */
import { nonlinearLeastSquares } from "../kernel/nonlinear-least-squares.ts";
import type { FrictionBins } from "./friction-bins.ts";
import { formulaOf, GRIP_PARAMETERS, gripAt, slopeAtOrigin } from "./grip-shape.ts";

/** Slope of friction at zero slip from gentle driving, with its relative standard deviation. */
export interface OriginSlope {
  readonly value: number;
  readonly share: number;
}

export interface GripFit {
  /** In the form that gripAt takes. */
  readonly parameters: Float64Array;
  /** Covariance of the parameters, row by row, for the given noise model. */
  readonly covariance: Float64Array;
  /** Friction of each run over the curve, in the order of the bins. */
  readonly runGrip: Float64Array;
  /** Sum of squared residuals, in standard deviations. */
  readonly cost: number;
}

/** The rows with the weights of the last round. */
export interface GripRows {
  readonly bins: readonly FrictionBins[];
  /** Standard deviation of each bin's friction, including the part from slip and the formula's own misfit. */
  readonly sigma: readonly Float64Array[];
  readonly origin: OriginSlope | null;
}

/**
 * Priors for road tyres: best slip 12 % within a factor of 2.7; shapes as of the published surfaces (B times best slip 1.1 to 1.8, E 0.2 to
 * 1). One standard deviation each; a few tenths of a second of data outweigh them.
 */
const BEFOREHAND: readonly (readonly [number, number])[] = [
  [Math.log(0.12), 1],
  [0, 1],
  [Math.log(1.6), 0.6],
  [Math.log(0.5), 1.5],
];
/** Runs of one surface agree in grip within this (standard deviation). */
const RUN_SIGMA = 0.03;
/** No formula is the tyre exactly: misfit as a share of peak friction at the best slip; it grows away from it. */
const MISFIT = 0.004;
const MISFIT_SPREAD = 0.8;
const ROUNDS = 4;
const MOST_ITERATIONS = 60;
const OUTLIER_SIGMAS = 3;

/** Fits all bins. `start`: parameters to begin from. */
export function fitGrip(
  bins: readonly FrictionBins[],
  origin: OriginSlope | null,
  start: ArrayLike<number>,
): { fit: GripFit; rows: GripRows } {
  let parameters: Float64Array = Float64Array.from(start);
  let rows: GripRows = { bins, sigma: [], origin };
  let fit: GripFit | null = null;
  for (let round = 0; round < ROUNDS; round += 1) {
    rows = { bins, sigma: sigmasAt(bins, parameters, fit), origin };
    fit = solveGrip(rows, parameters);
    parameters = fit.parameters;
  }
  return { fit: fit as GripFit, rows };
}

/** One weighted fit of all runs. */
function solveGrip({ bins, sigma, origin }: GripRows, start: ArrayLike<number>): GripFit {
  const count = bins.reduce((sum, run) => sum + run.slip.length + 1, 0) + GRIP_PARAMETERS + (origin === null ? 0 : 1);
  const runGrip = new Float64Array(bins.length);
  const evaluate = (p: Float64Array, residuals: Float64Array, derivatives: readonly Float64Array[]) => {
    let row = 0;
    bins.forEach((run, r) => {
      runGrip[r] = runRows(run, sigma[r], p, { residuals, derivatives, first: row });
      row += run.slip.length + 1;
    });
    for (let j = 0; j < GRIP_PARAMETERS; j += 1, row += 1) {
      const [mean, spread] = BEFOREHAND[j];
      residuals[row] = (mean - p[j]) / spread;
      for (let k = 0; k < GRIP_PARAMETERS; k += 1) derivatives[k][row] = k === j ? 1 / spread : 0;
    }
    if (origin !== null) originRow(origin, p, residuals, derivatives, row);
  };
  const solved = nonlinearLeastSquares({
    start: Array.from(start),
    rows: count,
    evaluate,
    maxIterations: MOST_ITERATIONS,
    tolerance: 1e-6,
  });
  return { parameters: solved.parameters, covariance: solved.inverseGram, runGrip, cost: solved.residualSumOfSquares };
}

/**
 * How far each run alone would move the answer if it counted once more: the fit's covariance times the run's gradient of the sum of
 * squares.
 */
export function runPulls({ bins, sigma }: GripRows, { parameters, covariance }: GripFit): Float64Array[] {
  return bins.map((run, r) => {
    const rows = run.slip.length + 1;
    const residuals = new Float64Array(rows);
    const derivatives = Array.from({ length: GRIP_PARAMETERS }, () => new Float64Array(rows));
    runRows(run, sigma[r], parameters, { residuals, derivatives, first: 0 });
    const slope = derivatives.map((column) => column.reduce((sum, value, i) => sum + value * residuals[i], 0));
    return Float64Array.from({ length: GRIP_PARAMETERS }, (_, j) =>
      slope.reduce((sum, value, k) => sum + covariance[j * GRIP_PARAMETERS + k] * value, 0),
    );
  });
}

/** A run's rows begin at `first`. */
interface RowsToFill {
  readonly residuals: Float64Array;
  readonly derivatives: readonly Float64Array[];
  readonly first: number;
}

/** Writes the rows of one run with its own grip factor eliminated (variable projection); returns that factor. */
function runRows(
  { slip, friction }: FrictionBins,
  sigma: Float64Array,
  p: Float64Array,
  { residuals, derivatives, first }: RowsToFill,
): number {
  const n = slip.length;
  const by = new Float64Array(GRIP_PARAMETERS);
  const model = new Float64Array(n);
  let [up, down] = [RUN_SIGMA ** -2, RUN_SIGMA ** -2];
  const upBy = new Float64Array(GRIP_PARAMETERS);
  const downBy = new Float64Array(GRIP_PARAMETERS);
  for (let i = 0; i < n; i += 1) {
    const w = sigma[i] ** -2;
    model[i] = gripAt(p, slip[i], by).friction;
    up += w * friction[i] * model[i];
    down += w * model[i] * model[i];
    for (let k = 0; k < GRIP_PARAMETERS; k += 1) {
      derivatives[k][first + i] = by[k];
      upBy[k] += w * friction[i] * by[k];
      downBy[k] += 2 * w * model[i] * by[k];
    }
  }
  const grip = up / down;
  for (let k = 0; k < GRIP_PARAMETERS; k += 1) {
    const gripBy = (upBy[k] - grip * downBy[k]) / down;
    for (let i = 0; i < n; i += 1) {
      derivatives[k][first + i] = (grip * derivatives[k][first + i] + gripBy * model[i]) / sigma[i];
    }
    derivatives[k][first + n] = gripBy / RUN_SIGMA;
  }
  for (let i = 0; i < n; i += 1) residuals[first + i] = (friction[i] - grip * model[i]) / sigma[i];
  residuals[first + n] = (1 - grip) / RUN_SIGMA;
  return grip;
}

/** The slope at the origin from gentle driving, as a logarithm. */
function originRow(origin: OriginSlope, p: Float64Array, residuals: Float64Array, derivatives: readonly Float64Array[], row: number): void {
  const logSlope = (q: ArrayLike<number>) => Math.log(slopeAtOrigin(formulaOf(q)));
  const here = logSlope(p);
  residuals[row] = (Math.log(origin.value) - here) / origin.share;
  const moved = Float64Array.from(p);
  for (let k = 0; k < GRIP_PARAMETERS; k += 1) {
    moved[k] = p[k] + 1e-6;
    derivatives[k][row] = (logSlope(moved) - here) / 1e-6 / origin.share;
    moved[k] = p[k];
  }
}

/**
 * Each bin's standard deviation under a curve: its own, slip's through the curve's slope, and the formula's misfit. Beyond three of them a
 * bin gets less weight.
 */
function sigmasAt(bins: readonly FrictionBins[], p: Float64Array, fit: GripFit | null): Float64Array[] {
  const by = new Float64Array(GRIP_PARAMETERS);
  const D = Math.exp(p[1]);
  return bins.map(({ slip, slipSigma, friction, frictionSigma }, r) =>
    slip.map((s, i) => {
      const { friction: model, slope } = gripAt(p, s, by);
      const away = Math.log(Math.max(s, 1e-3)) - p[0];
      const misfit = MISFIT * D * (1 + (away / MISFIT_SPREAD) ** 2);
      const sigma = Math.hypot(frictionSigma[i], slope * slipSigma[i], misfit);
      if (fit === null) return sigma;
      const off = Math.abs(friction[i] - fit.runGrip[r] * model) / sigma / OUTLIER_SIGMAS;
      return off > 1 ? sigma * Math.sqrt(off) : sigma;
    }),
  );
}
