/**
 * Nonlinear least squares (Levenberg-Marquardt, scaled damping, QR steps) with derivatives supplied by the model.
 * Stops at relative steps under `tolerance`; `converged` is false when the iterations ran out first.
 */
import { type LinearFit, linearLeastSquares } from "./linear-least-squares.ts";

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
const FIRST_DAMPING = 1e-3;
const WORST_DAMPING = 1e16;

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
  let damping = FIRST_DAMPING;
  let converged = false;
  const scale = new Float64Array(count);
  for (let iteration = 0; iteration < maxIterations && !converged; iteration++) {
    // Scaling never shrinks (More 1978), so a flat spot cannot let a parameter run away.
    for (let j = 0; j < count; j++) scale[j] = Math.max(scale[j], Math.sqrt(sumOfSquares(here.derivatives[j])), Number.MIN_VALUE);
    for (;;) {
      const step = dampedStep(here.residuals, here.derivatives, scale, damping);
      const trial = parameters.map((value, j) => value + step[j]);
      evaluate(trial, there.residuals, there.derivatives);
      const trialCost = sumOfSquares(there.residuals);
      const small = step.every((value, j) => Math.abs(value) <= tolerance * (Math.abs(parameters[j]) + tolerance));
      if (trialCost <= cost) {
        parameters = trial;
        [here, there] = [there, here];
        cost = trialCost;
        damping = Math.max(damping / 10, 1e-14);
        converged = small;
        break;
      }
      if (small || damping > WORST_DAMPING) {
        converged = true;
        break;
      }
      damping *= 8;
    }
  }
  const final: LinearFit = linearLeastSquares(here.derivatives, here.residuals);
  return { parameters, inverseGram: final.inverseGram, residualSumOfSquares: cost, converged };
}

function dampedStep(residuals: Float64Array, derivatives: readonly Float64Array[], scale: Float64Array, damping: number): Float64Array {
  const rows = residuals.length;
  const count = derivatives.length;
  const right = new Float64Array(rows + count);
  right.set(residuals);
  const root = Math.sqrt(damping);
  const columns = derivatives.map((column, j) => {
    const longer = new Float64Array(rows + count);
    // Solved in units of the scale, so that parameters of very different sizes keep their digits.
    for (let i = 0; i < rows; i++) longer[i] = column[i] / scale[j];
    longer[rows + j] = root;
    return longer;
  });
  return linearLeastSquares(columns, right).coefficients.map((value, j) => value / scale[j]);
}

function sumOfSquares(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] * values[i];
  return Number.isFinite(sum) ? sum : Infinity;
}
