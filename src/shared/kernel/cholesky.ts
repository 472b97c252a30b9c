/**
 * Dense Cholesky factors of symmetric positive definite matrices, stored row by row in one Float64Array. A matrix that is not positive
 * definite gives null; the caller decides what that means.
 */

/** Lower triangle L with L L' = matrix (n by n, row by row); null when a pivot is not positive. */
export function choleskyOf(matrix: Float64Array, n: number): Float64Array | null {
  const lower = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j];
      for (let k = 0; k < j; k++) sum -= lower[i * n + k] * lower[j * n + k];
      if (i === j) {
        if (!(sum > 0)) return null;
        lower[i * n + i] = Math.sqrt(sum);
      } else lower[i * n + j] = sum / lower[j * n + j];
    }
  }
  return lower;
}

/** Solves L x = b; b is not changed. */
export function solveLower(lower: Float64Array, n: number, b: ArrayLike<number>): Float64Array {
  const x = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let sum = b[i];
    for (let k = 0; k < i; k++) sum -= lower[i * n + k] * x[k];
    x[i] = sum / lower[i * n + i];
  }
  return x;
}

/** Solves L L' x = b; b is not changed. */
export function solveCholesky(lower: Float64Array, n: number, b: ArrayLike<number>): Float64Array {
  const x = solveLower(lower, n, b);
  for (let i = n - 1; i >= 0; i--) {
    let sum = x[i];
    for (let k = i + 1; k < n; k++) sum -= lower[k * n + i] * x[k];
    x[i] = sum / lower[i * n + i];
  }
  return x;
}

/** log |L L'|. */
export function logDeterminant(lower: Float64Array, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += Math.log(lower[i * n + i]);
  return 2 * sum;
}
