/**
 * Dense Cholesky factors of symmetric positive definite matrices, stored row by row in one Float64Array. A matrix that is not positive
 * definite gives null; the caller decides what that means.
 */

/**
 * Lower triangle L with L L' = matrix (n by n, row by row); null when a pivot is not positive. Column by column, four rows side by side: their sums do
 * not wait for each other.
 */
export function choleskyOf(matrix: Float64Array, n: number): Float64Array | null {
  const lower = new Float64Array(n * n);
  for (let j = 0; j < n; j++) {
    const own = j * n;
    let pivot = matrix[own + j];
    for (let k = 0; k < j; k++) pivot -= lower[own + k] * lower[own + k];
    if (!(pivot > 0)) return null;
    const root = Math.sqrt(pivot);
    lower[own + j] = root;
    let i = j + 1;
    for (; i + 3 < n; i += 4) {
      const [a, b, c, d] = [i * n, (i + 1) * n, (i + 2) * n, (i + 3) * n];
      let [sumA, sumB, sumC, sumD] = [matrix[a + j], matrix[b + j], matrix[c + j], matrix[d + j]];
      for (let k = 0; k < j; k++) {
        const factor = lower[own + k];
        sumA -= lower[a + k] * factor;
        sumB -= lower[b + k] * factor;
        sumC -= lower[c + k] * factor;
        sumD -= lower[d + k] * factor;
      }
      lower[a + j] = sumA / root;
      lower[b + j] = sumB / root;
      lower[c + j] = sumC / root;
      lower[d + j] = sumD / root;
    }
    for (; i < n; i++) {
      let sum = matrix[i * n + j];
      for (let k = 0; k < j; k++) sum -= lower[i * n + k] * lower[own + k];
      lower[i * n + j] = sum / root;
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

/** Solves L x = b for a b of zeros with a 1 at `k`. */
export function solveLowerUnit(lower: Float64Array, n: number, k: number): Float64Array {
  const x = new Float64Array(n);
  x[k] = 1 / lower[k * n + k];
  for (let i = k + 1; i < n; i++) {
    let sum = 0;
    for (let m = k; m < i; m++) sum -= lower[i * n + m] * x[m];
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
