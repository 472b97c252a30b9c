/**
 * Receiver noise as AR(1) plus white, and the whitening that goes with it: a scalar Kalman filter over uneven epochs.
 * Whitened columns have unit variance (times the common scale), so ordinary least squares on them is generalised
 * least squares on the data. Closed forms: see the test.
 */

/** Shape of the noise; the common scale is fitted separately. */
export interface NoiseShape {
  /** Correlated variance over white variance. */
  readonly ratio: number;
  /** Correlation time, s. */
  readonly correlationS: number;
}

// Half a decade apart: finer steps change no interval by more than a few per cent.
const RATIOS = [0, 0.1, 0.3, 1, 3, 10, 40, 200];
const CORRELATIONS_S = [0.05, 0.15, 0.4, 1, 2.5, 6, 15];

/** The shapes that are tried; the first is plain white noise. */
export const NOISE_SHAPES: readonly NoiseShape[] = RATIOS.flatMap((ratio) =>
  ratio === 0 ? [{ ratio, correlationS: 0 }] : CORRELATIONS_S.map((correlationS) => ({ ratio, correlationS })),
);

export interface Whitener {
  /** Sum of the log innovation variances (white variance 1). */
  readonly logDeterminant: number;
  /** Replaces a column by its standardised innovations, in place. */
  whiten(column: Float64Array): void;
}

/** Builds the whitener for epochs at `tS` (rising), white variance 1, correlated variance `shape.ratio`. */
export function createWhitener(tS: ArrayLike<number>, shape: NoiseShape): Whitener {
  const rows = tS.length;
  const carry = new Float64Array(rows);
  const gain = new Float64Array(rows);
  const inverseRoot = new Float64Array(rows);
  let logDeterminant = 0;
  let variance = shape.ratio;
  for (let i = 0; i < rows; i++) {
    if (i > 0 && shape.ratio > 0) {
      carry[i] = Math.exp(-(tS[i] - tS[i - 1]) / shape.correlationS);
      variance = shape.ratio + carry[i] ** 2 * (variance - shape.ratio);
    }
    const innovation = variance + 1;
    gain[i] = variance / innovation;
    inverseRoot[i] = 1 / Math.sqrt(innovation);
    logDeterminant += Math.log(innovation);
    variance *= 1 - gain[i];
  }
  return {
    logDeterminant,
    whiten(column) {
      let state = 0;
      for (let i = 0; i < rows; i++) {
        const predicted = carry[i] * state;
        const innovation = column[i] - predicted;
        state = predicted + gain[i] * innovation;
        column[i] = innovation * inverseRoot[i];
      }
    },
  };
}
