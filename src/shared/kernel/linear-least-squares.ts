/**
 * Ordinary linear least squares by Householder QR, for few coefficients and any number of rows. Throws RangeError when there are fewer rows
 * than coefficients. A column that is a combination of the others gets an infinite variance.
 */

export interface LinearFit {
  readonly coefficients: Float64Array;
  /** (X'X)^-1, row by row: times the noise variance it is the covariance of the coefficients. */
  readonly inverseGram: Float64Array;
  readonly residualSumOfSquares: number;
  /** False when a column was, to working precision, a combination of the others. */
  readonly fullRank: boolean;
}

// A pivot smaller than this share of its column's length means that the column holds no information of its own.
const RANK_TOLERANCE = 1e-12;

/** The same problem reduced to as many rows as there are coefficients. */
export interface Triangle {
  /** Upper triangle of the factor R, column by column, each `count` long. */
  readonly columns: readonly Float64Array[];
  /** The transformed y; what is left of it is in the residual. */
  readonly right: Float64Array;
  readonly residualSumOfSquares: number;
  readonly fullRank: boolean;
}

/** Householder QR of [columns, y]. Throws RangeError when there are fewer rows than columns; inputs are not changed. */
export function triangularise(columns: readonly Float64Array[], y: Float64Array): Triangle {
  const rows = y.length;
  const count = columns.length;
  if (rows < count) throw new RangeError(`Expected at least ${count} rows for ${count} coefficients, got ${rows}`);
  const work = columns.map((column) => Float64Array.from(column));
  const right = Float64Array.from(y);
  const triangle = columns.map(() => new Float64Array(count));
  const answer = new Float64Array(count);
  // The columns that hold something of their own, each with a row of its own. A column without takes no row from those after it.
  const own: number[] = [];
  for (let k = 0; k < count; k++) {
    const column = work[k];
    const row = own.length;
    let whole = 0;
    for (let i = 0; i < rows; i++) whole += column[i] * column[i];
    let below = 0;
    for (let i = row; i < rows; i++) below += column[i] * column[i];
    own.forEach((pivotOf, r) => {
      triangle[k][pivotOf] = column[r];
    });
    if (!(below > RANK_TOLERANCE * RANK_TOLERANCE * whole)) continue;
    const pivot = column[row] > 0 ? -Math.sqrt(below) : Math.sqrt(below);
    triangle[k][k] = pivot;
    column[row] -= pivot;
    const scale = -1 / (pivot * column[row]);
    for (let j = k + 1; j < count; j++) reflect(column, work[j], row, scale);
    reflect(column, right, row, scale);
    own.push(k);
  }
  own.forEach((k, row) => {
    answer[k] = right[row];
  });
  let residualSumOfSquares = 0;
  for (let i = own.length; i < rows; i++) residualSumOfSquares += right[i] * right[i];
  return { columns: triangle, right: answer, residualSumOfSquares, fullRank: own.length === count };
}

/** Fits y = sum of coefficient times column. Columns and y have one length; inputs are not changed. */
export function linearLeastSquares(columns: readonly Float64Array[], y: Float64Array): LinearFit {
  const count = columns.length;
  const { columns: triangle, right, residualSumOfSquares, fullRank } = triangularise(columns, y);
  const pivots = Float64Array.from(triangle, (column, k) => column[k]);
  const inverseR = invertUpper(triangle, pivots);
  const coefficients = new Float64Array(count);
  const inverseGram = new Float64Array(count * count);
  for (let i = 0; i < count; i++) {
    if (pivots[i] !== 0) for (let k = i; k < count; k++) if (pivots[k] !== 0) coefficients[i] += inverseR[i * count + k] * right[k];
    for (let j = 0; j < count; j++) {
      let sum = 0;
      for (let k = Math.max(i, j); k < count; k++) sum += inverseR[i * count + k] * inverseR[j * count + k];
      inverseGram[i * count + j] = pivots[i] === 0 || pivots[j] === 0 ? (i === j ? Infinity : 0) : sum;
    }
  }
  return { coefficients, inverseGram, residualSumOfSquares, fullRank };
}

function reflect(mirror: Float64Array, target: Float64Array, from: number, scale: number): void {
  let dot = 0;
  for (let i = from; i < mirror.length; i++) dot += mirror[i] * target[i];
  const factor = dot * scale;
  for (let i = from; i < mirror.length; i++) target[i] -= factor * mirror[i];
}

/** Inverse of the upper triangle. `work` holds it above its diagonal, `pivots` holds the diagonal; zero pivots are left out. */
function invertUpper(work: readonly Float64Array[], pivots: Float64Array): Float64Array {
  const count = pivots.length;
  const inverse = new Float64Array(count * count);
  for (let j = 0; j < count; j++) {
    if (pivots[j] === 0) continue;
    inverse[j * count + j] = 1 / pivots[j];
    for (let i = j - 1; i >= 0; i--) {
      if (pivots[i] === 0) continue;
      let sum = 0;
      for (let k = i + 1; k <= j; k++) sum += work[k][i] * inverse[k * count + j];
      inverse[i * count + j] = -sum / pivots[i];
    }
  }
  return inverse;
}
