/**
 * Noise of a receiver's speed around the speed that forces explain: AR(1) plus white at the receiver, and a road whose slope varies (a
 * first-order process, integrated). Whitening is a Kalman filter with three states. The speed at the beginning of each stretch is unknown.
 */
import type { Whitening } from "./weighed-step.ts";

export interface ForceShape {
  /** Correlated variance over white variance of the receiver. */
  readonly ratio: number;
  readonly correlationS: number;
  /** Standard deviation of the unexplained acceleration over the white one of speed, 1/s. */
  readonly slopePerS: number;
}

/** Slopes and gusts last about 75 m or 5 s (from memory). */
const SLOPE_S = 5;
/** Variance of a stretch's first speed, in white variances: large enough for "unknown", small enough for rounding. */
const UNKNOWN_SPEED = 1e6;

// With 0.03 m/s of white noise: unexplained accelerations of 0.003 m/s2 (a runway) to 0.3 (hills).
const SLOPES_PER_S = [0.1, 0.3, 1, 3, 10];
const RECEIVERS = [0.4, 1, 2.5].flatMap((correlationS) => [1, 10].map((ratio) => ({ ratio, correlationS })));

export const FORCE_SHAPES: readonly ForceShape[] = SLOPES_PER_S.flatMap((slopePerS) =>
  [{ ratio: 0, correlationS: 1 }, ...RECEIVERS].map((receiver) => ({ ...receiver, slopePerS })),
);

/**
 * The same for a motor's speed. Its noise is a thousandth of a metre a second; after smoothing, what is left is correlated over a few
 * tenths of a second.
 */
export const MOTOR_SHAPES: readonly ForceShape[] = [0.3, 1, 3, 10, 30, 100, 300].flatMap((slopePerS) =>
  [0.2, 0.6, 2].flatMap((correlationS) => [0.3, 3, 30].map((ratio) => ({ ratio, correlationS, slopePerS }))),
);

/** Builds the whitener for epochs at `tS` (rising). Each epoch lies in the stretch of its number. */
export function createForceWhitener(tS: ArrayLike<number>, stretch: ArrayLike<number>, shape: ForceShape): Whitening {
  const rows = tS.length;
  const slopeVariance = shape.slopePerS ** 2;
  // One column for each quantity: a step's decays, its gains, and one over the root of the innovation's variance. An object for each step
  // would take three times as long.
  const [keepNoise, carry, keepSlope, gainNoise, gainSpeed, gainSlope, root] = Array.from({ length: 7 }, () => new Float64Array(rows));
  const isFresh = (i: number) => i === 0 || stretch[i] !== stretch[i - 1];
  let logDeterminant = 0;
  // Covariance of [receiver's correlated error, speed offset, slope].
  let [nn, ns, nw, ss, sw, ww] = [shape.ratio, 0, 0, UNKNOWN_SPEED, 0, slopeVariance];
  for (let i = 0; i < rows; i++) {
    const dt = i === 0 ? 0 : tS[i] - tS[i - 1];
    const keep = i === 0 ? 1 : Math.exp(-dt / shape.correlationS);
    const e = Math.exp(-dt / SLOPE_S);
    const c = SLOPE_S * (1 - e);
    [keepNoise[i], keepSlope[i], carry[i]] = [keep, e, c];
    nn = shape.ratio + keep * keep * (nn - shape.ratio);
    if (isFresh(i)) [ns, nw, ss, sw, ww] = [0, 0, UNKNOWN_SPEED, 0, slopeVariance];
    else {
      ns = keep * (ns + c * nw);
      nw = keep * e * nw;
      ss = ss + 2 * c * sw + c * c * ww + slopeVariance * SLOPE_S ** 2 * ((2 * dt) / SLOPE_S - 3 + 4 * e - e * e);
      sw = e * (sw + c * ww) + slopeVariance * SLOPE_S * (1 - e) ** 2;
      ww = slopeVariance + e * e * (ww - slopeVariance);
    }
    const [cn, cs, cw] = [nn + ns, ns + ss, nw + sw];
    const innovation = cn + cs + 1;
    gainNoise[i] = cn / innovation;
    gainSpeed[i] = cs / innovation;
    gainSlope[i] = cw / innovation;
    root[i] = 1 / Math.sqrt(innovation);
    logDeterminant += Math.log(innovation);
    nn -= gainNoise[i] * cn;
    ns -= gainNoise[i] * cs;
    nw -= gainNoise[i] * cw;
    ss -= gainSpeed[i] * cs;
    sw -= gainSpeed[i] * cw;
    ww -= gainSlope[i] * cw;
  }
  return {
    logDeterminant,
    whiten(column) {
      let [noise, speed, slope] = [0, 0, 0];
      for (let i = 0; i < rows; i++) {
        const fresh = isFresh(i);
        noise *= keepNoise[i];
        speed = fresh ? 0 : speed + carry[i] * slope;
        slope = fresh ? 0 : keepSlope[i] * slope;
        const innovation = column[i] - noise - speed;
        noise += gainNoise[i] * innovation;
        speed += gainSpeed[i] * innovation;
        slope += gainSlope[i] * innovation;
        column[i] = innovation * root[i];
      }
    },
  };
}
