/**
 * Fits one launch to everything that was measured in it: Gauss-Newton over a forward model plus a slowly varying
 * disturbance, noise levels by marginal likelihood. Gives the curve with its covariance; null where the data cannot carry a fit.
 */
import { choleskyOf, logDeterminant, solveCholesky, solveLower } from "../kernel/cholesky.ts";
import {
  curveAt,
  epochEquations,
  layOut,
  type Layout,
  type SourceEquations,
  sensorEquations,
  standingEquations,
} from "./launch-equations.ts";
import type { FitInput, LaunchFit } from "./launch-fit.ts";
import { GRID_S } from "./launch-model.ts";

// Published tyre curves (Burckhardt dry, Magic Formula dry and wet) bend by 7 to 12 per unit of linear slip.
const SLIP_BEND = 9;
const SLIP_BEND_SIGMA = 5;
// The start is the one strongly bent direction; a longer step leaves its valley.
const MOST_START_STEP_S = 0.15;
const STANDING_MPS = [0.003, 0.02, 0.1, 0.5];

interface Hyper {
  epochs: number;
  sensors: number;
  disturbance: number;
  /** Standard deviation of the speed before anything pushed, m/s: tight for a car that was free to roll, wide for one held back. */
  standing: number;
}

interface Priors {
  readonly mean: Float64Array;
  readonly precision: Float64Array;
}

interface Equations {
  readonly epochs: SourceEquations;
  readonly sensors: SourceEquations;
  readonly standing: SourceEquations;
}

/** Fits; null when fewer than four epochs are there or the equations are singular. */
export function fitLaunch(input: FitInput): LaunchFit | null {
  if (input.epochs.tS.length < 4) return null;
  const layout = layOut(input);
  const priors = priorsOf(input, layout);
  const theta = Float64Array.from(priors.mean);
  input.start.forEach((value, i) => {
    theta[i] = value;
  });
  const hyper: Hyper = {
    epochs: 1,
    sensors: 1,
    disturbance: input.disturbance.sigmas[input.disturbance.sigmas.length >> 1],
    standing: STANDING_MPS[1],
  };
  let equations = lineariseAt(input, layout, theta);
  let solved = solve(equations, hyper, theta, priors, input, layout);
  for (let round = 0; round < 3 && solved; round++) {
    for (let iteration = 0; iteration < 10 && solved; iteration++) {
      let shrink = 1;
      const { step } = solved;
      if (input.model.kind === "family" && Math.abs(step[0]) > MOST_START_STEP_S) shrink = MOST_START_STEP_S / Math.abs(step[0]);
      const before = costOf(equations, hyper, theta, priors, input, layout);
      let after = before;
      for (let attempt = 0; attempt < 6; attempt++, shrink /= 3) {
        const trial = theta.map((value, i) => value + shrink * step[i]);
        const cost = costOf(lineariseAt(input, layout, trial, false), hyper, trial, priors, input, layout);
        if (!(cost <= before)) continue;
        theta.set(trial);
        equations = lineariseAt(input, layout, theta);
        after = cost;
        break;
      }
      solved = solve(equations, hyper, theta, priors, input, layout);
      if (before - after < 1e-3) break;
    }
    if (round < 2) {
      tune(equations, hyper, theta, priors, input, layout);
      solved = solve(equations, hyper, theta, priors, input, layout);
    }
  }
  return solved ? resultOf(input, layout, theta, solved, hyper) : null;
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
  input.sensors.forEach((sensor, k) => {
    precision[layout.sensorScale[k]] = sensor.scaleSigma ** -2;
    if (layout.sensorSlip[k] < 0) return;
    precision[layout.sensorSlip[k]] = sensor.slipSigma ** -2;
    mean[layout.sensorBend[k]] = SLIP_BEND;
    precision[layout.sensorBend[k]] = SLIP_BEND_SIGMA ** -2;
  });
  return { mean, precision };
}

const NOTHING: SourceEquations = { matrix: new Float64Array(0), right: new Float64Array(0), cost: 0, rows: 0, outliers: 0 };

const lineariseAt = (input: FitInput, layout: Layout, theta: Float64Array, withDerivatives = true): Equations => {
  const curve = curveAt(input, layout, theta, withDerivatives);
  return {
    epochs: epochEquations(input, layout, theta, curve),
    sensors: sensorEquations(input, layout, theta, curve),
    standing: input.model.kind === "torque" ? standingEquations(layout, curve) : NOTHING,
  };
};

/** Precision of the disturbance: an Ornstein-Uhlenbeck process seen at the knots. Calls back with (row, column, value). */
function eachKnotPrecision(
  layout: Layout,
  sigma: number,
  correlationS: number,
  add: (i: number, j: number, value: number) => void,
): number {
  const { knotTimes, knots } = layout;
  let logDet = -2 * Math.log(sigma);
  add(knots, knots, sigma ** -2);
  for (let k = 1; k < knotTimes.length; k++) {
    const keep = Math.exp(-(knotTimes[k] - knotTimes[k - 1]) / correlationS);
    const weight = 1 / (sigma * sigma * (1 - keep * keep));
    logDet += Math.log(weight);
    add(knots + k, knots + k, weight);
    add(knots + k - 1, knots + k - 1, weight * keep * keep);
    add(knots + k, knots + k - 1, -weight * keep);
  }
  return logDet;
}

function priorCost(theta: Float64Array, hyper: Hyper, priors: Priors, input: FitInput, layout: Layout): number {
  let cost = 0;
  for (let i = 0; i < layout.knots; i++) cost += priors.precision[i] * (theta[i] - priors.mean[i]) ** 2;
  eachKnotPrecision(layout, hyper.disturbance, input.disturbance.correlationS, (i, j, value) => {
    cost += (i === j ? 1 : 2) * value * theta[i] * theta[j];
  });
  return cost;
}

const costOf = (equations: Equations, hyper: Hyper, theta: Float64Array, priors: Priors, input: FitInput, layout: Layout) =>
  equations.epochs.cost / hyper.epochs ** 2 +
  equations.sensors.cost / hyper.sensors ** 2 +
  equations.standing.cost / hyper.standing ** 2 +
  priorCost(theta, hyper, priors, input, layout);

interface Solved {
  readonly lower: Float64Array;
  readonly step: Float64Array;
  /** Log of the marginal likelihood at this linearisation, up to a constant. */
  readonly evidence: number;
}

function solve(equations: Equations, hyper: Hyper, theta: Float64Array, priors: Priors, input: FitInput, layout: Layout): Solved | null {
  const n = layout.total;
  const matrix = new Float64Array(n * n);
  const right = new Float64Array(n);
  const we = hyper.epochs ** -2;
  const ws = hyper.sensors ** -2;
  const wz = hyper.standing ** -2;
  for (let i = 0; i < matrix.length; i++) matrix[i] = we * equations.epochs.matrix[i] + ws * equations.sensors.matrix[i];
  for (let i = 0; i < n; i++) right[i] = we * equations.epochs.right[i] + ws * equations.sensors.right[i];
  if (equations.standing.rows > 0) {
    for (let i = 0; i < matrix.length; i++) matrix[i] += wz * equations.standing.matrix[i];
    for (let i = 0; i < n; i++) right[i] += wz * equations.standing.right[i];
  }
  for (let i = 0; i < layout.knots; i++) {
    matrix[i * n + i] += priors.precision[i];
    right[i] += priors.precision[i] * (priors.mean[i] - theta[i]);
  }
  const logPrior = eachKnotPrecision(layout, hyper.disturbance, input.disturbance.correlationS, (i, j, value) => {
    matrix[i * n + j] += value;
    right[i] -= value * theta[j];
    if (i !== j) right[j] -= value * theta[i];
  });
  const lower = choleskyOf(matrix, n);
  if (!lower) return null;
  const step = solveCholesky(lower, n, right);
  let fall = 0;
  for (let i = 0; i < n; i++) fall += right[i] * step[i];
  const cost = costOf(equations, hyper, theta, priors, input, layout) - fall;
  const noise =
    -equations.epochs.rows * Math.log(hyper.epochs) -
    equations.sensors.rows * Math.log(hyper.sensors) -
    equations.standing.rows * Math.log(hyper.standing);
  return { lower, step, evidence: noise - cost / 2 + logPrior / 2 - logDeterminant(lower, n) / 2 };
}

/** Moves the noise levels to the likeliest of a few candidates, one after the other; priors keep them near what calibration found. */
function tune(equations: Equations, hyper: Hyper, theta: Float64Array, priors: Priors, input: FitInput, layout: Layout): void {
  const logPrior = (value: number, sigma: number) => -0.5 * (Math.log(value) / sigma) ** 2;
  const epochSigma = input.noiseKnown ? 0.12 : 0.5;
  const score = (trial: Hyper) => {
    const solved = solve(equations, trial, theta, priors, input, layout);
    return solved ? solved.evidence + logPrior(trial.epochs, epochSigma) + logPrior(trial.sensors, 0.7) : Number.NEGATIVE_INFINITY;
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
    if (equations.standing.rows > 0) for (const value of STANDING_MPS) attempt("standing", value);
    for (const value of input.disturbance.sigmas) attempt("disturbance", value);
    for (const factor of [0.6, 0.8, 0.9, 1.1, 1.25, 1.6]) attempt("epochs", hyper.epochs * factor);
    if (equations.sensors.rows > 0) for (const factor of [0.5, 0.7, 0.85, 1.2, 1.5, 2.2]) attempt("sensors", hyper.sensors * factor);
  }
}

function resultOf(input: FitInput, layout: Layout, theta: Float64Array, solved: Solved, hyper: Hyper): LaunchFit {
  const { model } = input;
  const curve = curveAt(input, layout, theta);
  const n = layout.total;
  const count = model.grid.count;
  // Covariance = L^-T L^-1, so the columns of (derivatives L^-T) are independent unit directions.
  const inverse = new Float64Array(n * n);
  const unit = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    unit.fill(0);
    unit[k] = 1;
    inverse.set(solveLower(solved.lower, n, unit), k * n);
  }
  const sigma = new Float64Array(n);
  for (let p = 0; p < n; p++) {
    let sum = 0;
    for (let m = p; m < n; m++) sum += inverse[p * n + m] ** 2;
    sigma[p] = Math.sqrt(sum);
  }
  const speedModes: Float64Array[] = [];
  for (let m = 0; m < n; m++) {
    const mode = new Float64Array(count);
    for (let p = 0; p <= m; p++) {
      const column = curve.derivatives[p];
      const factor = inverse[p * n + m];
      if (column && factor !== 0) for (let i = 0; i < count; i++) mode[i] += factor * column[i];
    }
    speedModes.push(mode);
  }
  const distance = new Float64Array(count);
  for (let i = 1; i < count; i++) distance[i] = distance[i - 1] + ((curve.speed[i] + curve.speed[i - 1]) / 2) * GRID_S;
  return {
    grid: model.grid,
    kind: model.kind,
    speed: curve.speed,
    acceleration: curve.acceleration,
    distance,
    speedModes,
    theta,
    names: model.parameters.map((parameter) => parameter.name),
    sigma,
    logEvidence: solved.evidence,
    noise: { epochs: hyper.epochs, sensors: hyper.sensors, disturbance: hyper.disturbance, standing: hyper.standing },
  };
}
