/**
 * Fits receiver speed as scale x (spin - twist) / (1 + slip x torque), a delay ago, with noise that is correlated in time. The shape of the
 * noise is unknown: each shape is weighted by how well it explains the data (restricted likelihood), and the interval includes that
 * uncertainty. Outliers are left out and counted. Null when too few epochs can be used.
 */
import { nonlinearLeastSquares } from "../kernel/nonlinear-least-squares.ts";
import { atTime, type DriveGrid, isMarked } from "./drive-grid.ts";
import { createWhitener, NOISE_SHAPES, type NoiseShape } from "./noise-model.ts";
import { bentTorque, bentTorqueByBend, type SlipKnowledge, statementsOf } from "./slip-curve.ts";
import { weighedStep } from "./weighed-step.ts";

export interface SpeedFitInput {
  readonly grid: DriveGrid;
  /** The column that the scale multiplies: driven spin, or the mean of the undriven sensors. */
  readonly spin: Float64Array;
  /** 1 where spin and torque may be used. */
  readonly mask: Uint8Array;
  /** What slip is proportional to. For undriven wheels this is acceleration, which moves their load and so their radius. */
  readonly torqueNm: Float64Array;
  /** True for driven wheels: slip bends and shafts twist. */
  readonly driven: boolean;
  readonly epochS: Float64Array;
  readonly speedMps: Float64Array;
  readonly start: { readonly scale: number; readonly delayS: number };
  /** Prior knowledge of slip (for undriven wheels: per m/s2), its bend and the shafts' twist. */
  readonly known: SlipKnowledge;
}

export interface SpeedFit {
  /** Scale, delay, slip, bend, twist. */
  readonly parameters: Float64Array;
  /** Row by row. */
  readonly covariance: Float64Array;
  readonly noise: { readonly correlatedMps: number; readonly correlationS: number; readonly whiteMps: number };
  readonly used: number;
  readonly outliers: number;
  readonly epochs: readonly number[];
}

const STEADY = [1, 0, 0, 0, 0];
const LEAST_EPOCHS = 12;
export const OUTLIER_SIGMAS = 4.5;
const MODERATE_NOISE: NoiseShape = { ratio: 1, correlationS: 1 };
/** Acceleration is the slope over twice this. Over less, sensor noise would count as information about the delay. */
const SLOPE_STEP_S = 0.1;

/** Runs the fit. Leaves out epochs of unknown speed and those with a past that was not gentle. */
export function fitSpeed(input: SpeedFitInput): SpeedFit | null {
  const { start, known } = input;
  let parameters: Float64Array = Float64Array.from([start.scale, start.delayS, ...known.mean]);
  let bad = new Set<number>();
  let result: SpeedFit | null = null;
  let shapes = NOISE_SHAPES;
  for (let pass = 0; pass < 5; pass++) {
    const delayBefore = parameters[1];
    const rows = usable(input, delayBefore, bad);
    if (rows.length < LEAST_EPOCHS) return null;
    if (pass === 0) parameters = coarse(input, rows, parameters);
    const fitted = marginalise(input, rows, parameters, shapes);
    shapes = fitted.likely;
    parameters = fitted.fit.parameters;
    result = { ...fitted.fit, outliers: bad.size };
    const found = new Set(bad);
    fitted.standardised.forEach((value, i) => {
      if (Math.abs(value) > OUTLIER_SIGMAS) found.add(rows[i]);
    });
    if (pass > 1 && found.size === bad.size && Math.abs(parameters[1] - delayBefore) < 2e-4) break;
    bad = found;
  }
  return result;
}

function usable(input: SpeedFitInput, delayS: number, bad: ReadonlySet<number>): number[] {
  const rows: number[] = [];
  for (let i = 0; i < input.epochS.length; i++) {
    const at = input.epochS[i] - delayS;
    if (bad.has(i) || !Number.isFinite(input.speedMps[i]) || !isMarked(input.grid, input.mask, at)) continue;
    if (!Number.isFinite(model(input, STEADY, at - SLOPE_STEP_S) + model(input, STEADY, at + SLOPE_STEP_S))) continue;
    rows.push(i);
  }
  return rows;
}

function model(input: SpeedFitInput, parameters: ArrayLike<number>, atS: number): number {
  const { grid, driven } = input;
  const spin = atTime(grid, input.spin, atS) - (driven ? parameters[4] * atTime(grid, grid.twistNmps, atS) : 0);
  return (parameters[0] * spin) / (1 + parameters[2] * slipForce(input, parameters[3], atS));
}

function slipForce(input: SpeedFitInput, bend: number, atS: number): number {
  const straight = atTime(input.grid, input.torqueNm, atS);
  return input.driven ? bentTorque(straight, atTime(input.grid, input.grid.loadShare, atS), bend) : straight;
}

function linearise(
  input: SpeedFitInput,
  rows: readonly number[],
  parameters: ArrayLike<number>,
  residuals: Float64Array,
  derivatives: readonly Float64Array[],
): void {
  for (let k = 0; k < rows.length; k++) {
    const at = input.epochS[rows[k]] - parameters[1];
    const value = model(input, parameters, at);
    if (!Number.isFinite(value)) {
      // A trial delay that leaves the recording carries no information: a large misfit.
      residuals[k] = 10;
      for (const column of derivatives) column[k] = 0;
      continue;
    }
    residuals[k] = input.speedMps[rows[k]] - value;
    derivatives[0][k] = value / parameters[0];
    const slope = (model(input, parameters, at + SLOPE_STEP_S) - model(input, parameters, at - SLOPE_STEP_S)) / (2 * SLOPE_STEP_S);
    derivatives[1][k] = Number.isFinite(slope) ? -slope : 0;
    const force = slipForce(input, parameters[3], at);
    const lessened = 1 + parameters[2] * force;
    derivatives[2][k] = (-value * force) / lessened;
    if (!input.driven) continue;
    const { loadShare, twistNmps } = input.grid;
    const byBend = bentTorqueByBend(atTime(input.grid, input.torqueNm, at), atTime(input.grid, loadShare, at), parameters[3]);
    derivatives[3][k] = (-value * parameters[2] * byBend) / lessened;
    derivatives[4][k] = (-parameters[0] * atTime(input.grid, twistNmps, at)) / lessened;
  }
}

/** Prior knowledge of slip, its bend and the shafts' twist, relative to their present values. */
function beforehand({ known }: SpeedFitInput, now: ArrayLike<number>): { readonly weights: Float64Array; readonly off: number }[] {
  return statementsOf(known).map((statement) => ({
    weights: Float64Array.of(0, 0, ...statement),
    off: known.mean.reduce((sum, mean, j) => sum + statement[j] * (mean - now[2 + j]), 0),
  }));
}

/** A first answer with moderate noise, whatever delay it starts from. */
function coarse(input: SpeedFitInput, rows: readonly number[], start: Float64Array): Float64Array {
  const whitener = createWhitener(
    rows.map((i) => input.epochS[i]),
    MODERATE_NOISE,
  );
  const fit = nonlinearLeastSquares({
    start: Array.from(start),
    rows: rows.length + 3,
    maxIterations: 25,
    tolerance: 1e-7,
    evaluate(parameters, residuals, derivatives) {
      const data = residuals.subarray(0, rows.length);
      const columns = derivatives.map((column) => column.subarray(0, rows.length));
      linearise(input, rows, parameters, data, columns);
      whitener.whiten(data);
      for (const column of columns) whitener.whiten(column);
      // Typical receiver noise is used until the scale is fitted.
      const typicalMps = 0.03;
      for (const column of [data, ...columns]) for (let k = 0; k < column.length; k++) column[k] /= typicalMps;
      for (const column of derivatives) column.fill(0, rows.length);
      beforehand(input, parameters).forEach(({ weights, off }, k) => {
        residuals[rows.length + k] = off;
        derivatives.forEach((column, a) => {
          column[rows.length + k] = weights[a];
        });
      });
    },
  });
  return fit.parameters;
}

/** One linearised step from `at`, weighted over all noise shapes. */
function marginalise(input: SpeedFitInput, rows: readonly number[], at: Float64Array, shapes: readonly NoiseShape[]) {
  const times = rows.map((i) => input.epochS[i]);
  const residuals = new Float64Array(rows.length);
  const derivatives = Array.from({ length: at.length }, () => new Float64Array(rows.length));
  linearise(input, rows, at, residuals, derivatives);
  const { step, covariance, best, likely } = weighedStep({
    residuals,
    derivatives,
    shapes,
    whitenerOf: (shape) => createWhitener(times, shape),
    // Plain white noise is one shape against many similar ones: its prior weight equals that of all the others together.
    logPrior: ({ ratio }) => (ratio === 0 ? Math.log(NOISE_SHAPES.length - 1) : 0),
    beforehand: beforehand(input, at),
  });
  const whiteMps = Math.sqrt(best.variance);
  return {
    standardised: best.standardised,
    likely,
    fit: {
      parameters: at.map((value, a) => value + step[a]),
      covariance,
      noise: { correlatedMps: whiteMps * Math.sqrt(best.shape.ratio), correlationS: best.shape.correlationS, whiteMps },
      used: rows.length,
      epochs: rows,
    },
  };
}
