/**
 * Cholesky factors of symmetric positive definite band matrices (few diagonals). Memory and work grow only with the number of rows. A
 * matrix that is not positive definite gives null.
 */

/** Lower half of the band: element (i, i - k) stands at i * (width + 1) + k, k from 0 to width. */
export interface BandMatrix {
  readonly n: number;
  readonly width: number;
  readonly values: Float64Array;
}

export const emptyBand = (n: number, width: number): BandMatrix => ({ n, width, values: new Float64Array(n * (width + 1)) });

/** Adds to element (i, j). j is at most i, and i - j is at most `width`. */
export function addToBand({ width, values }: BandMatrix, i: number, j: number, value: number): void {
  values[i * (width + 1) + i - j] += value;
}

/** The factor L with L L' = matrix, of the same band; null when a pivot is not positive. */
export function bandCholesky({ n, width, values }: BandMatrix): BandMatrix | null {
  const lower = new Float64Array(values.length);
  const row = width + 1;
  for (let i = 0; i < n; i++) {
    for (let j = Math.max(0, i - width); j <= i; j++) {
      let sum = values[i * row + i - j];
      for (let k = Math.max(0, i - width); k < j; k++) sum -= lower[i * row + i - k] * lower[j * row + j - k];
      if (i === j) {
        if (!(sum > 0)) return null;
        lower[i * row] = Math.sqrt(sum);
      } else lower[i * row + i - j] = sum / lower[j * row];
    }
  }
  return { n, width, values: lower };
}

/** Solves L L' x = b; b is not changed. */
export function solveBand({ n, width, values: lower }: BandMatrix, b: ArrayLike<number>): Float64Array {
  const row = width + 1;
  const x = Float64Array.from(b);
  for (let i = 0; i < n; i++) {
    for (let k = Math.max(0, i - width); k < i; k++) x[i] -= lower[i * row + i - k] * x[k];
    x[i] /= lower[i * row];
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k <= Math.min(n - 1, i + width); k++) x[i] -= lower[k * row + k - i] * x[k];
    x[i] /= lower[i * row];
  }
  return x;
}

/**
 * Diagonal of the inverse of L L'. Starts at the last row: inside the band each element follows from those below it (Takahashi, Fagan and
 * Chin, "Formation of a sparse bus impedance matrix", 1973; from memory).
 */
export function inverseDiagonal({ n, width, values: lower }: BandMatrix): Float64Array {
  const row = width + 1;
  const inverse = new Float64Array(lower.length);
  const at = (a: number, b: number) => (a > b ? inverse[a * row + a - b] : inverse[b * row + b - a]);
  for (let i = n - 1; i >= 0; i--) {
    const last = Math.min(n - 1, i + width);
    for (let j = last; j >= i; j--) {
      let sum = j === i ? 1 / lower[i * row] : 0;
      for (let k = i + 1; k <= last; k++) sum -= lower[k * row + k - i] * at(k, j);
      inverse[j * row + j - i] = sum / lower[i * row];
    }
  }
  return Float64Array.from({ length: n }, (_, i) => inverse[i * row]);
}
