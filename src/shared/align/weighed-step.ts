/**
 * One linearised least squares step under noise of unknown shape: every shape is weighted by how well it explains the data (restricted
 * likelihood), and the covariance includes that uncertainty. A direction without information gets a huge variance, never an infinite one.
 */

/** Replaces columns by their standardised innovations: see noise-model.ts. */
export interface Whitening {
  /** Sum of the log innovation variances (white variance 1). */
  readonly logDeterminant: number;
  whiten(column: Float64Array): void;
}

export interface StepInput<Shape> {
  readonly residuals: Float64Array;
  readonly derivatives: readonly Float64Array[];
  readonly shapes: readonly Shape[];
  readonly whitenerOf: (shape: Shape) => Whitening;
  /** Log of a shape's prior weight. */
  readonly logPrior: (shape: Shape) => number;
  /** Prior knowledge as observations of unit variance: weights x step = off. */
  readonly beforehand: readonly { readonly weights: ArrayLike<number>; readonly off: number }[];
}

export interface WeighedStep<Shape> {
  readonly step: Float64Array;
  /** Row by row. */
  readonly covariance: Float64Array;
  /** The likeliest shape, its white variance, and its innovations in standard deviations. */
  readonly best: { readonly shape: Shape; readonly variance: number; readonly standardised: Float64Array };
  /** Shapes worth trying again. */
  readonly likely: readonly Shape[];
}

/** A noise shape this far (in log likelihood) behind the best is left out of the following passes. */
const NEGLIGIBLE = 8;

/** Prior knowledge of single parameters: each one's mean and standard deviation, relative to its present value. */
export function alone(
  known: readonly { readonly at: number; readonly mean: number; readonly sigma: number }[],
  now: ArrayLike<number>,
): { readonly weights: Float64Array; readonly off: number }[] {
  return known.map(({ at, mean, sigma }) => {
    const weights = new Float64Array(now.length);
    weights[at] = 1 / sigma;
    return { weights, off: (mean - now[at]) / sigma };
  });
}

/** Takes the step weighted over all shapes. Throws RangeError without a shape. */
export function weighedStep<Shape>({
  residuals,
  derivatives,
  shapes,
  whitenerOf,
  logPrior,
  beforehand,
}: StepInput<Shape>): WeighedStep<Shape> {
  const n = residuals.length;
  const p = derivatives.length;
  if (shapes.length === 0) throw new RangeError("Expected at least one noise shape, got none");
  const columns = derivatives.map((column) => Float64Array.from(column));
  const right = Float64Array.from(residuals);
  const answers = shapes.map((shape) => {
    const whitener = whitenerOf(shape);
    for (let j = 0; j < p; j++) columns[j].set(derivatives[j]);
    right.set(residuals);
    for (const column of columns) whitener.whiten(column);
    whitener.whiten(right);
    const gram = new Float64Array(p * p);
    const moment = new Float64Array(p);
    for (let a = 0; a < p; a++) {
      moment[a] = dot(columns[a], right);
      for (let b = 0; b <= a; b++) gram[a * p + b] = gram[b * p + a] = dot(columns[a], columns[b]);
    }
    const free = solveSymmetric(gram, moment);
    let rss = dot(right, right);
    for (let a = 0; a < p; a++) rss -= free.solution[a] * moment[a];
    const variance = Math.max(rss, 1e-12) / (n - p);
    const logWeight = logPrior(shape) - 0.5 * ((n - p) * Math.log(variance) + whitener.logDeterminant + free.logDeterminant);
    for (let i = 0; i < gram.length; i++) gram[i] /= variance;
    for (let i = 0; i < p; i++) moment[i] /= variance;
    // Prior knowledge counts like one more observation each.
    for (const { weights, off } of beforehand) {
      for (let a = 0; a < p; a++) {
        moment[a] += weights[a] * off;
        for (let b = 0; b < p; b++) gram[a * p + b] += weights[a] * weights[b];
      }
    }
    const held = solveSymmetric(gram, moment);
    return { logWeight, step: held.solution, covariance: held.inverse, shape, variance, whitener };
  });
  const best = answers.reduce((a, b) => (b.logWeight > a.logWeight ? b : a));
  const weights = answers.map((answer) => Math.exp(answer.logWeight - best.logWeight));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = new Float64Array(p);
  answers.forEach((answer, g) => {
    for (let a = 0; a < p; a++) mean[a] += (weights[g] / total) * answer.step[a];
  });
  const covariance = new Float64Array(p * p);
  answers.forEach((answer, g) => {
    for (let a = 0; a < p; a++)
      for (let b = 0; b < p; b++)
        covariance[a * p + b] +=
          (weights[g] / total) * (answer.covariance[a * p + b] + (answer.step[a] - mean[a]) * (answer.step[b] - mean[b]));
  });
  const standardised = Float64Array.from(residuals);
  derivatives.forEach((column, a) => {
    for (let k = 0; k < n; k++) standardised[k] -= mean[a] * column[k];
  });
  best.whitener.whiten(standardised);
  for (let k = 0; k < n; k++) standardised[k] /= Math.sqrt(best.variance);
  return {
    step: mean,
    covariance,
    best: { shape: best.shape, variance: best.variance, standardised },
    likely: answers.filter((answer) => answer.logWeight > best.logWeight - NEGLIGIBLE).map((answer) => answer.shape),
  };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

/** Gauss-Jordan on a small symmetric positive matrix, scaled first so that units do not matter. */
function solveSymmetric(
  matrix: Float64Array,
  right: Float64Array,
): { solution: Float64Array; inverse: Float64Array; logDeterminant: number } {
  const p = right.length;
  const scale = right.map((_, i) => (matrix[i * p + i] > 0 ? 1 / Math.sqrt(matrix[i * p + i]) : 1));
  const work = matrix.map((value, i) => value * scale[Math.floor(i / p)] * scale[i % p]);
  let logDeterminant = 0;
  for (let i = 0; i < p; i++) logDeterminant -= 2 * Math.log(scale[i]);
  for (let k = 0; k < p; k++) {
    // A tiny ridge, at rounding level, keeps the solution finite for a drive without information: its variance is then huge, not infinite.
    const pivot = Math.max(work[k * p + k], 1e-12);
    logDeterminant += Math.log(pivot);
    work[k * p + k] = 1;
    for (let j = 0; j < p; j++) work[k * p + j] /= pivot;
    for (let i = 0; i < p; i++) {
      if (i === k) continue;
      const factor = work[i * p + k];
      work[i * p + k] = 0;
      for (let j = 0; j < p; j++) work[i * p + j] -= factor * work[k * p + j];
    }
  }
  const inverse = work.map((value, i) => value * scale[Math.floor(i / p)] * scale[i % p]);
  const solution = right.map((_, i) => {
    let sum = 0;
    for (let j = 0; j < p; j++) sum += inverse[i * p + j] * right[j];
    return sum;
  });
  return { solution, inverse, logDeterminant };
}
