/**
 * Fits one launch to everything that was measured in it: Gauss-Newton on a forward model plus a slowly varying disturbance, with noise
 * levels by marginal likelihood. Gives the curve with its covariance; null where the data are too few for a fit.
 */
import { curveAt } from "./launch-curve.ts";
import type { FitInput, LaunchFit } from "./launch-fit.ts";
import { GRID_S } from "./launch-model.ts";
import {
  costOf,
  type Equations,
  FIRST_STANDING_MPS,
  type Hyper,
  hyperPrior,
  lineariseAt,
  mix,
  type Problem,
  problemOf,
  type Solved,
  solve,
  tune,
} from "./solve-launch.ts";

// The start is the one strongly nonlinear parameter; a longer step can leave its minimum.
const MOST_START_STEP_S = 0.15;
// Measured as the start's error beyond its stated half width on two generators of launches (test/shared/run, test/claims).
const TORQUE_SHAPE_S2 = 0.0002;
const SHAPE_UNTIL_MPS = 3;

/** Fits; null when fewer than four epochs are there or the equations are singular. */
export function fitLaunch(input: FitInput): LaunchFit | null {
  if (input.epochs.tS.length < 4) return null;
  const problem = problemOf(input);
  const { layout } = problem;
  const { sigmas } = input.disturbance;
  // With a small disturbance, a family model bends its ramp to the data. With a large one, the disturbance follows the data and the ramp
  // stays. Which leads to the best minimum depends on the launch, so all are tried and the likeliest is kept.
  const firsts = input.model.kind === "family" ? [sigmas.length - 1, sigmas.length >> 1, 0] : [sigmas.length >> 1];
  const climbs = firsts.map((k) => climb(problem, sigmas[k])).filter((one) => one !== null);
  if (climbs.length === 0) return null;
  const { theta, hyper, equations, solved } = climbs.reduce((best, one) => (one.mark > best.mark ? one : best));
  const mixed = mix(problem, equations, hyper, theta);
  if (!mixed) return null;
  for (let i = 0; i < theta.length; i++) theta[i] = heldWithin(input, i, theta[i] + mixed.step[i] - solved.step[i]);
  // The curve has moved, so its uncertainty is taken from the equations at its new place.
  const settled = mix(problem, lineariseAt(input, layout, theta), hyper, theta);
  return settled ? resultOf({ problem, theta, lower: settled.lower, hyper, evidence: solved.evidence }) : null;
}

interface Climb {
  readonly theta: Float64Array;
  readonly hyper: Hyper;
  readonly equations: Equations;
  readonly solved: Solved;
  /** Log evidence at this point, with the prior of the noise levels. */
  readonly mark: number;
}

/** Gauss-Newton from the input's start with a first disturbance; the noise levels are tuned twice on the way. */
function climb(problem: Problem, disturbance: number): Climb | null {
  const { input, layout, priors } = problem;
  const theta = Float64Array.from(priors.mean);
  input.start.forEach((value, i) => {
    theta[i] = value;
  });
  const hyper: Hyper = { epochs: 1, sensors: 1, disturbance, standing: FIRST_STANDING_MPS };
  let equations = lineariseAt(input, layout, theta);
  let solved = solve(problem, equations, hyper, theta);
  for (let round = 0; round < 3 && solved; round++) {
    for (let iteration = 0; iteration < 10 && solved; iteration++) {
      let shrink = 1;
      const { step } = solved;
      if (input.model.kind === "family" && Math.abs(step[0]) > MOST_START_STEP_S) shrink = MOST_START_STEP_S / Math.abs(step[0]);
      const before = costOf(problem, equations, hyper, theta);
      let after = before;
      for (let attempt = 0; attempt < 6; attempt++, shrink /= 3) {
        const trial = theta.map((value, i) => heldWithin(input, i, value + shrink * step[i]));
        const cost = costOf(problem, lineariseAt(input, layout, trial, false), hyper, trial);
        if (!(cost <= before)) continue;
        theta.set(trial);
        equations = lineariseAt(input, layout, theta);
        after = cost;
        break;
      }
      solved = solve(problem, equations, hyper, theta);
      if (before - after < 1e-3) break;
    }
    if (round < 2) {
      tune(problem, equations, hyper, theta);
      solved = solve(problem, equations, hyper, theta);
    }
  }
  if (!solved) return null;
  // A search that got stuck is rated at the place it reached, not at the place that the linear model predicts.
  return { theta, hyper, equations, solved, mark: solved.evidence - solved.fall / 2 + hyperPrior(hyper, input) };
}

function heldWithin(input: FitInput, i: number, value: number): number {
  const bounds = input.model.parameters[i]?.within;
  return bounds ? Math.min(bounds[1], Math.max(bounds[0], value)) : value;
}

/** Seconds in which the acceleration rose from 5 to 60 % of its peak. The shorter, the more do shafts and tyres shape the start. */
function rampOf(acceleration: Float64Array): number {
  const peak = acceleration.reduce((a, b) => Math.max(a, b), 0);
  const from = acceleration.findIndex((a) => a > 0.05 * peak);
  const to = acceleration.findIndex((a) => a > 0.6 * peak);
  return Math.max(1, to - from) * GRID_S;
}

interface Settled {
  readonly problem: Problem;
  readonly theta: Float64Array;
  /** Cholesky factor of the parameters' covariance; its columns are independent directions of one standard deviation. */
  readonly lower: Float64Array;
  readonly hyper: Hyper;
  readonly evidence: number;
}

function resultOf({ problem: { input, layout }, theta, lower, hyper, evidence }: Settled): LaunchFit {
  const { model } = input;
  const curve = curveAt(input, layout, theta);
  const n = layout.total;
  const count = model.grid.count;
  const sigma = new Float64Array(n);
  for (let p = 0; p < n; p++) {
    let sum = 0;
    for (let m = 0; m <= p; m++) sum += lower[p * n + m] ** 2;
    sigma[p] = Math.sqrt(sum);
  }
  const speedModes: Float64Array[] = [];
  for (let m = 0; m < n; m++) {
    const mode = new Float64Array(count);
    for (let p = m; p < n; p++) {
      const column = curve.derivatives[p];
      const factor = lower[p * n + m];
      if (column && factor !== 0) for (let i = 0; i < count; i++) mode[i] += factor * column[i];
    }
    speedModes.push(mode);
  }
  // An error that no parameter covers: shafts, tyres and feet shape the first tenths of a second in their own ways.
  const shape = input.shapeS ?? Math.max(0.0006, Math.min(0.0025, TORQUE_SHAPE_S2 / rampOf(curve.acceleration)));
  speedModes.push(curve.speed.map((v, i) => shape * curve.acceleration[i] * Math.max(0, 1 - v / SHAPE_UNTIL_MPS)));
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
    logEvidence: evidence,
    noise: { epochs: hyper.epochs, sensors: hyper.sensors, disturbance: hyper.disturbance, standing: hyper.standing },
  };
}
