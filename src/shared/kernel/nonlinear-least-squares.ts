/**
 * Nonlinear least squares (Levenberg-Marquardt with a trust region, scaled damping, QR steps); the model supplies its derivatives. Stops at
 * relative steps under `tolerance`. `converged` is false when the iterations ran out first.
 */
import { type LinearFit, linearLeastSquares, type Triangle, triangularise } from "./linear-least-squares.ts";

export interface NonlinearProblem {
  readonly start: readonly number[];
  readonly rows: number;
  /** Writes residuals (observed minus model) and the model's derivatives, one column for each parameter. */
  readonly evaluate: (parameters: Float64Array, residuals: Float64Array, derivatives: readonly Float64Array[]) => void;
  readonly maxIterations?: number;
  readonly tolerance?: number;
}

export interface NonlinearFit {
  readonly parameters: Float64Array;
  /** (J'J)^-1 at the solution, row by row. */
  readonly inverseGram: Float64Array;
  readonly residualSumOfSquares: number;
  readonly converged: boolean;
}

const DEFAULT_ITERATIONS = 200;
const DEFAULT_TOLERANCE = 1e-10;
const WORST_DAMPING = 1e16;
/**
 * The first step goes at most a third of the start's distance from zero. A longer one can land where the sum of squares is flat, and not
 * come back (NIST's BoxBOD, MGH17).
 */
const FIRST_RADIUS = 0.3;

/** Finds the parameters with the least sum of squared residuals near `start`. Throws RangeError when there are too few rows. */
export function nonlinearLeastSquares(problem: NonlinearProblem): NonlinearFit {
  const { start, rows, evaluate, maxIterations = DEFAULT_ITERATIONS, tolerance = DEFAULT_TOLERANCE } = problem;
  const count = start.length;
  let parameters = Float64Array.from(start);
  const allocate = () => ({ residuals: new Float64Array(rows), derivatives: Array.from({ length: count }, () => new Float64Array(rows)) });
  let here = allocate();
  let there = allocate();
  evaluate(parameters, here.residuals, here.derivatives);
  let cost = sumOfSquares(here.residuals);
  let converged = false;
  let radius = Number.NaN;
  const scale = new Float64Array(count);
  for (let iteration = 0; iteration < maxIterations && !converged; iteration++) {
    // Scaling never shrinks (More 1978), so a flat spot cannot let a parameter run away.
    for (let j = 0; j < count; j++) scale[j] = Math.max(scale[j], Math.sqrt(sumOfSquares(here.derivatives[j])), Number.MIN_VALUE);
    if (Number.isNaN(radius)) radius = FIRST_RADIUS * (lengthOf(parameters, scale) || 1);
    const triangle = triangularise(here.derivatives, here.residuals);
    for (;;) {
      const { step, length } = stepWithin(triangle, scale, radius);
      const trial = parameters.map((value, j) => value + step[j]);
      evaluate(trial, there.residuals, there.derivatives);
      const trialCost = sumOfSquares(there.residuals);
      const small = step.every((value, j) => Math.abs(value) <= tolerance * (Math.abs(parameters[j]) + tolerance));
      const better = trialCost <= cost;
      // Compares the real gain with the gain that the linear model predicted. A poor match shortens the next step, a good one lengthens it.
      const kept = (cost - trialCost) / Math.max(cost - costAfter(triangle, step), Number.MIN_VALUE);
      if (better && kept > 0.75) radius = Math.max(radius, 2 * length);
      else if (!(better && kept >= 0.25)) radius = Math.max(0.25 * length, Number.MIN_VALUE);
      if (better) {
        parameters = trial;
        [here, there] = [there, here];
        cost = trialCost;
        converged = small;
        break;
      }
      if (small) {
        converged = true;
        break;
      }
    }
  }
  const final: LinearFit = linearLeastSquares(here.derivatives, here.residuals);
  return { parameters, inverseGram: final.inverseGram, residualSumOfSquares: cost, converged };
}

const lengthOf = (vector: Float64Array, scale: Float64Array) =>
  Math.sqrt(vector.reduce((sum, value, j) => sum + (value * scale[j]) ** 2, 0));

/** The sum of squares that the linear model predicts after a step. */
function costAfter({ columns, right, residualSumOfSquares }: Triangle, step: Float64Array): number {
  let left = residualSumOfSquares;
  for (let i = 0; i < right.length; i++) {
    let row = right[i];
    for (let j = i; j < step.length; j++) row -= columns[j][i] * step[j];
    left += row * row;
  }
  return left;
}

/** The step with the least damping that is no longer than the radius (within a tenth), in units of the scale. */
function stepWithin(triangle: Triangle, scale: Float64Array, radius: number): { step: Float64Array; length: number } {
  const at = (damping: number) => {
    const step = dampedStep(triangle, scale, damping);
    return { step, length: lengthOf(step, scale) };
  };
  const undamped = at(0);
  if (undamped.length <= 1.1 * radius) return undamped;
  let [low, high] = [1e-16, WORST_DAMPING];
  let answer = at(high);
  // Length falls as damping grows: halving its logarithm. Where a parameter has no say at all it jumps instead, so only short ones are kept.
  for (let i = 0; i < 40 && high > 1.2 * low; i++) {
    const middle = Math.sqrt(low * high);
    const tried = at(middle);
    if (!(tried.length <= 1.1 * radius)) low = middle;
    else {
      answer = tried;
      if (tried.length >= 0.9 * radius) return answer;
      high = middle;
    }
  }
  return answer;
}

function dampedStep({ columns, right }: Triangle, scale: Float64Array, damping: number): Float64Array {
  const count = columns.length;
  const longer = new Float64Array(2 * count);
  longer.set(right);
  const root = Math.sqrt(damping);
  const scaled = columns.map((column, j) => {
    const both = new Float64Array(2 * count);
    // Solved in units of the scale, so that parameters of very different sizes keep their digits.
    for (let i = 0; i <= j; i++) both[i] = column[i] / scale[j];
    both[count + j] = root;
    return both;
  });
  return linearLeastSquares(scaled, longer).coefficients.map((value, j) => value / scale[j]);
}

function sumOfSquares(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] * values[i];
  return Number.isFinite(sum) ? sum : Infinity;
}
