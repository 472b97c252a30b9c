/**
 * Fisher information of linearised observations under noise that is white plus first-order autoregressive. A matrix that cannot be inverted
 * throws: the family then has a parameter that nothing observes.
 */
import { choleskyOf, solveCholesky } from "../../src/shared/kernel/cholesky.ts";

export interface NoiseLevels {
  readonly whiteMps: number;
  readonly correlatedMps: number;
  readonly correlationS: number;
}

/** One run of observations: times, one derivative column for each parameter, and the noise between them. */
export interface Observed {
  readonly tS: readonly number[];
  readonly columns: readonly Float64Array[];
  readonly noise: NoiseLevels;
}

/**
 * Whitens columns in place of forming the covariance: the innovations of a scalar Kalman filter over AR(1) in white noise,
 * exact at uneven times (state correlation exp(-dt / time)).
 */
export function whiten(tS: readonly number[], columns: readonly Float64Array[], noise: NoiseLevels): Float64Array[] {
  const white = noise.whiteMps ** 2;
  const level = noise.correlatedMps ** 2;
  const means = columns.map(() => 0);
  const out = columns.map((c) => new Float64Array(c.length));
  let variance = level;
  for (let k = 0; k < tS.length; k += 1) {
    const rho = k === 0 || level === 0 ? 0 : Math.exp(-(tS[k] - tS[k - 1]) / noise.correlationS);
    variance = rho * rho * variance + level * (1 - rho * rho);
    const total = variance + white;
    const gain = variance / total;
    columns.forEach((column, j) => {
      const predicted = rho * means[j];
      const innovation = column[k] - predicted;
      out[j][k] = innovation / Math.sqrt(total);
      means[j] = predicted + gain * innovation;
    });
    variance *= 1 - gain;
  }
  return out;
}

/** Sum over sources of J' C^-1 J, plus a prior precision matrix; row by row. */
export function information(count: number, sources: readonly Observed[], prior: Float64Array): Float64Array {
  const total = Float64Array.from(prior);
  for (const source of sources) {
    const white = whiten(source.tS, source.columns, source.noise);
    for (let i = 0; i < count; i += 1) {
      for (let j = 0; j <= i; j += 1) {
        let sum = 0;
        for (let k = 0; k < source.tS.length; k += 1) sum += white[i][k] * white[j][k];
        total[i * count + j] += sum;
        if (i !== j) total[j * count + i] += sum;
      }
    }
  }
  return total;
}

/** Covariance of the parameters: the inverse of an information matrix, scaled first so that units do not spoil it. */
export function covarianceOf(matrix: Float64Array, n: number): Float64Array {
  const scale = Float64Array.from({ length: n }, (_, i) => 1 / Math.sqrt(matrix[i * n + i]));
  const scaled = matrix.map((value, k) => value * scale[Math.floor(k / n)] * scale[k % n]);
  const lower = choleskyOf(scaled, n);
  if (lower === null) throw new RangeError(`Information matrix of ${n} parameters cannot be inverted: one of them is not observed`);
  const out = new Float64Array(n * n);
  for (let j = 0; j < n; j += 1) {
    const column = solveCholesky(
      lower,
      n,
      Float64Array.from({ length: n }, (_, i) => (i === j ? 1 : 0)),
    );
    for (let i = 0; i < n; i += 1) out[i * n + j] = column[i] * scale[i] * scale[j];
  }
  return out;
}

/** Standard deviation of gradient' theta. */
export function sigmaOf(gradient: ArrayLike<number>, covariance: Float64Array): number {
  const n = gradient.length;
  let sum = 0;
  for (let i = 0; i < n; i += 1) for (let j = 0; j < n; j += 1) sum += gradient[i] * covariance[i * n + j] * gradient[j];
  return Math.sqrt(sum);
}
