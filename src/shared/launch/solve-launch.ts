/**
 * Solves the linearised launch fit for given noise levels, finds the likeliest levels, and averages over all levels that the data allow. A
 * singular system gives null.
 */
import { choleskyOf, logDeterminant, solveCholesky, solveLowerUnit } from "../kernel/cholesky.ts";
import { curveAt, type Layout, layOut } from "./launch-curve.ts";
import { epochEquations, type SourceEquations, sensorEquations, standingEquations } from "./launch-equations.ts";
import type { FitInput } from "./launch-fit.ts";

// Published tyre curves (Burckhardt dry, Magic Formula dry and wet) bend by 7 to 12 per unit of linear slip. The load that a launch moves
// onto the driven axle makes them straighter again.
const SLIP_BEND = 6;
const SLIP_BEND_SIGMA = 6;
// Receivers smooth their speed over 0 to 60 ms. A first-order lag of that length changes a bend by half its square.
const FILTER_S2 = 0.0004;
const FILTER_SIGMA_S2 = 0.0007;
// Shafts of half or twice the typical stiffness are common, and the tyre's own lag adds to it.
const WIND_SIGMA = 0.5;
/**
 * Candidates with their prior share. Most cars stand free of brakes (seven in ten: common practice, no source); the others are held back
 * until the torque is up. A receiver shows a hold of 0.08 m/s by itself. It cannot separate a smaller one from its noise, and then the
 * prior share decides.
 */
const STANDING_MPS: readonly (readonly [number, number])[] = [
  [0.003, 0.7],
  [0.02, 0.12],
  [0.08, 0.09],
  [0.4, 0.09],
];
export const FIRST_STANDING_MPS = 0.02;
// A sensor's noise is measured by the scatter of its own readings, so it is not much less than that, however closely a curve follows them.
const LEAST_SENSOR_NOISE = 0.7;

/** Noise levels relative to the expected ones (1), the disturbance relative to the acceleration, and the hold. */
export interface Hyper {
  epochs: number;
  sensors: number;
  disturbance: number;
  /** Standard deviation of the speed before anything pushed, m/s: small for a car that was free to roll, large for one held back. */
  standing: number;
}

interface Priors {
  readonly mean: Float64Array;
  readonly precision: Float64Array;
}

export interface Equations {
  readonly epochs: SourceEquations;
  readonly sensors: SourceEquations;
  readonly standing: SourceEquations;
}

function priorsOf(input: FitInput, layout: Layout): Priors {
  const mean = new Float64Array(layout.total);
  const precision = new Float64Array(layout.total);
  input.model.parameters.forEach((parameter, i) => {
    mean[i] = parameter.mean;
    precision[i] = parameter.sigma ** -2;
  });
  mean[layout.delay] = input.delay.mean;
  precision[layout.delay] = input.delay.sigma ** -2;
  // Without torque the ramp is free and can imitate a filter: the two cannot be separated.
  const shaped = input.model.kind === "torque";
  mean[layout.filter] = shaped ? FILTER_S2 : 0;
  precision[layout.filter] = (shaped ? FILTER_SIGMA_S2 : FILTER_SIGMA_S2 / 100) ** -2;
  input.sensors.forEach((sensor, k) => {
    precision[layout.sensorScale[k]] = sensor.scaleSigma ** -2;
    if (layout.sensorSlip[k] < 0) return;
    precision[layout.sensorSlip[k]] = sensor.slipSigma ** -2;
    mean[layout.sensorBend[k]] = SLIP_BEND;
    precision[layout.sensorBend[k]] = SLIP_BEND_SIGMA ** -2;
    mean[layout.sensorWind[k]] = 1;
    precision[layout.sensorWind[k]] = WIND_SIGMA ** -2;
  });
  return { mean, precision };
}

const NOTHING: SourceEquations = { matrix: new Float64Array(0), right: new Float64Array(0), cost: 0, rows: 0, outliers: 0 };

export const lineariseAt = (input: FitInput, layout: Layout, theta: Float64Array, withDerivatives = true): Equations => {
  const curve = curveAt(input, layout, theta, withDerivatives);
  return {
    epochs: epochEquations(input, layout, theta, curve),
    sensors: sensorEquations(input, layout, theta, curve),
    standing: input.model.kind === "torque" ? standingEquations(layout, curve) : NOTHING,
  };
};

/** Precision of the disturbance, an Ornstein-Uhlenbeck process seen at the knots: its diagonal is the sum of `own` and of the next knot's `kept`. */
interface KnotPrecision {
  readonly first: number;
  readonly own: Float64Array;
  readonly kept: Float64Array;
  readonly across: Float64Array;
  readonly logDet: number;
}

function knotPrecision({ knotTimes }: Layout, sigma: number, correlationS: number): KnotPrecision {
  const [own, kept, across] = [new Float64Array(knotTimes.length), new Float64Array(knotTimes.length), new Float64Array(knotTimes.length)];
  let logDet = -2 * Math.log(sigma);
  for (let k = 1; k < knotTimes.length; k++) {
    const keep = Math.exp(-(knotTimes[k] - knotTimes[k - 1]) / correlationS);
    const weight = 1 / (sigma * sigma * (1 - keep * keep));
    logDet += Math.log(weight);
    own[k] = weight;
    kept[k] = weight * keep * keep;
    across[k] = -weight * keep;
  }
  return { first: sigma ** -2, own, kept, across, logDet };
}

/**
 * One fitting problem: the data, the indices of the unknowns and their priors. It stays the same while estimate and noise levels change.
 */
export interface Problem {
  readonly input: FitInput;
  readonly layout: Layout;
  readonly priors: Priors;
  /** For each disturbance that is tried: they are asked for hundreds of times. */
  readonly knots: ReadonlyMap<number, KnotPrecision>;
}

export function problemOf(input: FitInput): Problem {
  const layout = layOut(input);
  const { sigmas, correlationS } = input.disturbance;
  const knots = new Map(sigmas.map((sigma) => [sigma, knotPrecision(layout, sigma, correlationS)]));
  return { input, layout, priors: priorsOf(input, layout), knots };
}

function priorCost({ layout, priors, knots }: Problem, hyper: Hyper, theta: Float64Array): number {
  let cost = 0;
  for (let i = 0; i < layout.knots; i++) cost += priors.precision[i] * (theta[i] - priors.mean[i]) ** 2;
  const { first, own, kept, across } = knots.get(hyper.disturbance) as KnotPrecision;
  cost += first * theta[layout.knots] * theta[layout.knots];
  for (let k = 1; k < own.length; k++) {
    const [value, before] = [theta[layout.knots + k], theta[layout.knots + k - 1]];
    cost += own[k] * value * value;
    cost += kept[k] * before * before;
    cost += 2 * across[k] * value * before;
  }
  return cost;
}

export const costOf = (problem: Problem, equations: Equations, hyper: Hyper, theta: Float64Array) =>
  equations.epochs.cost / hyper.epochs ** 2 +
  equations.sensors.cost / hyper.sensors ** 2 +
  equations.standing.cost / hyper.standing ** 2 +
  priorCost(problem, hyper, theta);

export interface Solved {
  readonly lower: Float64Array;
  readonly step: Float64Array;
  /** Log of the marginal likelihood at this linearisation, up to a constant. */
  readonly evidence: number;
  /** How much the step would lower the cost if everything were linear: near 0 once converged. */
  readonly fall: number;
}

export function solve(problem: Problem, equations: Equations, hyper: Hyper, theta: Float64Array): Solved | null {
  const { layout, priors } = problem;
  const { epochs, sensors, standing } = equations;
  const n = layout.total;
  // Only the lower triangle is filled, and only it is read.
  const matrix = new Float64Array(n * n);
  const right = new Float64Array(n);
  const we = hyper.epochs ** -2;
  const ws = hyper.sensors ** -2;
  const wz = hyper.standing ** -2;
  for (let i = 0; i < n; i++) {
    for (let at = i * n; at <= i * n + i; at++) matrix[at] = we * epochs.matrix[at] + ws * sensors.matrix[at];
    right[i] = we * epochs.right[i] + ws * sensors.right[i];
  }
  if (standing.rows > 0) {
    for (let i = 0; i < n; i++) {
      for (let at = i * n; at <= i * n + i; at++) matrix[at] += wz * standing.matrix[at];
      right[i] += wz * standing.right[i];
    }
  }
  for (let i = 0; i < layout.knots; i++) {
    matrix[i * n + i] += priors.precision[i];
    right[i] += priors.precision[i] * (priors.mean[i] - theta[i]);
  }
  const knots = problem.knots.get(hyper.disturbance) as KnotPrecision;
  addKnots(knots, layout.knots, theta, matrix, right);
  const lower = choleskyOf(matrix, n);
  if (!lower) return null;
  const step = solveCholesky(lower, n, right);
  let fall = 0;
  for (let i = 0; i < n; i++) fall += right[i] * step[i];
  const cost = costOf(problem, equations, hyper, theta) - fall;
  const noise =
    -equations.epochs.rows * Math.log(hyper.epochs) -
    equations.sensors.rows * Math.log(hyper.sensors) -
    equations.standing.rows * Math.log(hyper.standing);
  return { lower, step, evidence: noise - cost / 2 + knots.logDet / 2 - logDeterminant(lower, n) / 2, fall };
}

function addKnots({ first, own, kept, across }: KnotPrecision, at: number, theta: Float64Array, matrix: Float64Array, right: Float64Array) {
  const n = right.length;
  matrix[at * n + at] += first;
  right[at] -= first * theta[at];
  for (let k = 1; k < own.length; k++) {
    const [i, j] = [at + k, at + k - 1];
    matrix[i * n + i] += own[k];
    right[i] -= own[k] * theta[i];
    matrix[j * n + j] += kept[k];
    right[j] -= kept[k] * theta[j];
    matrix[i * n + j] += across[k];
    right[i] -= across[k] * theta[j];
    right[j] -= across[k] * theta[i];
  }
}

/** Log prior of the noise levels, up to a constant. */
export function hyperPrior(hyper: Hyper, input: FitInput): number {
  const near = (value: number, sigma: number) => -0.5 * (Math.log(value) / sigma) ** 2;
  const share = STANDING_MPS.find(([value]) => value === hyper.standing)?.[1] ?? 1;
  return near(hyper.epochs, input.noiseKnown ? 0.12 : 0.25) + near(hyper.sensors, 0.7) + Math.log(share);
}

/** Moves each noise level in turn to the likeliest of a few candidates; priors keep them near what calibration found. */
export function tune(problem: Problem, equations: Equations, hyper: Hyper, theta: Float64Array): void {
  const { input } = problem;
  const score = (trial: Hyper) => {
    const solved = solve(problem, equations, trial, theta);
    return solved ? solved.evidence + hyperPrior(trial, input) : Number.NEGATIVE_INFINITY;
  };
  let best = score(hyper);
  const attempt = (key: keyof Hyper, value: number) => {
    const trial = { ...hyper, [key]: value };
    const mark = score(trial);
    if (mark > best) {
      best = mark;
      hyper[key] = value;
    }
  };
  for (let pass = 0; pass < 2; pass++) {
    if (equations.standing.rows > 0) for (const [value] of STANDING_MPS) attempt("standing", value);
    for (const value of input.disturbance.sigmas) attempt("disturbance", value);
    for (const factor of [0.6, 0.8, 0.9, 1.1, 1.25, 1.6]) attempt("epochs", hyper.epochs * factor);
    if (equations.sensors.rows > 0)
      for (const factor of [0.5, 0.7, 0.85, 1.2, 1.5, 2.2]) attempt("sensors", Math.max(LEAST_SENSOR_NOISE, hyper.sensors * factor));
  }
}

/** Mean step and covariance over every hold and disturbance that the data allow, weighted by their evidence. */
export function mix(
  problem: Problem,
  equations: Equations,
  hyper: Hyper,
  theta: Float64Array,
): { step: Float64Array; lower: Float64Array } | null {
  const { input, layout } = problem;
  const n = layout.total;
  const candidates: { solved: Solved; mark: number }[] = [];
  const standings = equations.standing.rows > 0 ? STANDING_MPS.map(([value]) => value) : [hyper.standing];
  // With the receiver alone, the uncertainty of its own noise is included too.
  const levels = equations.standing.rows > 0 ? [1] : [0.85, 1, 1.18, 1.4];
  for (const standing of standings) {
    for (const disturbance of input.disturbance.sigmas) {
      for (const level of levels) {
        const trial = { ...hyper, standing, disturbance, epochs: hyper.epochs * level };
        const solved = solve(problem, equations, trial, theta);
        if (solved) candidates.push({ solved, mark: solved.evidence + hyperPrior(trial, input) });
      }
    }
  }
  const best = candidates.reduce((most, one) => Math.max(most, one.mark), Number.NEGATIVE_INFINITY);
  const open = candidates.filter((one) => one.mark > best - 5);
  const total = open.reduce((sum, one) => sum + Math.exp(one.mark - best), 0);
  const step = new Float64Array(n);
  for (const { solved, mark } of open) for (let i = 0; i < n; i++) step[i] += (Math.exp(mark - best) / total) * solved.step[i];
  const covariance = new Float64Array(n * n);
  for (const { solved, mark } of open) {
    const weight = Math.exp(mark - best) / total;
    const columns: Float64Array[] = [];
    for (let k = 0; k < n; k++) columns.push(solveLowerUnit(solved.lower, n, k));
    for (let i = 0; i < n; i++) {
      const own = columns[i];
      for (let j = 0; j <= i; j++) {
        const other = columns[j];
        let sum = (solved.step[i] - step[i]) * (solved.step[j] - step[j]);
        for (let k = i; k < n; k++) sum += own[k] * other[k];
        covariance[i * n + j] += weight * sum;
      }
    }
  }
  const lower = choleskyOf(covariance, n);
  return lower ? { step, lower } : null;
}
