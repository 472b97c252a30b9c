/**
 * Receiver noise measured while standing, for recordings without calibration driving. Null where the car stood too briefly or the receiver
 * held its speed at 0; then the assumed noise stays.
 */
import type { ReceiverNoise } from "../align/calibration.ts";
import { isStandingAt, type GroundTrace } from "./ground-trace.ts";

const FEWEST_EPOCHS = 50;
// By chance alone, the autocorrelation of 50 to 200 squares has a standard deviation of 0.07 to 0.14.
const LEAST_CORRELATION = 0.1;
const LAG_S = 0.5;

/**
 * A speed at rest is the length of two noisy components. Its mean square is twice their variance; the correlation of its square is the
 * square of their correlation.
 */
export function noiseAtRest(trace: GroundTrace): ReceiverNoise | null {
  const squares: number[] = [];
  let held = 0;
  for (let k = 1; k < trace.t.length; k++) {
    if (!isStandingAt(trace, k)) continue;
    if (trace.v[k] === 0) held++;
    squares.push(trace.v[k] ** 2);
  }
  if (squares.length < FEWEST_EPOCHS || held > squares.length / 10) return null;
  const mean = squares.reduce((sum, one) => sum + one, 0) / squares.length;
  const spread = squares.reduce((sum, one) => sum + (one - mean) ** 2, 0);
  const correlation = (lag: number) => {
    let sum = 0;
    for (let k = lag; k < squares.length; k++) sum += (squares[k] - mean) * (squares[k - lag] - mean);
    return spread > 0 ? sum / spread : 0;
  };
  const variance = mean / 2;
  const stepS = (trace.t[trace.t.length - 1] - trace.t[0]) / (trace.t.length - 1);
  const near = correlation(1);
  if (near < LEAST_CORRELATION) return { correlatedMps: 0, correlationS: 0, whiteMps: Math.sqrt(variance) };
  const far = Math.max(0.01, correlation(Math.max(2, Math.round(LAG_S / stepS))));
  const correlationS = Math.min(2, Math.max(0.2, LAG_S / Math.max(0.1, 0.5 * Math.log(near / Math.min(far, 0.95 * near)))));
  const share = Math.min(0.95, Math.sqrt(near) * Math.exp(stepS / correlationS));
  return { correlatedMps: Math.sqrt(share * variance), correlationS, whiteMps: Math.sqrt((1 - share) * variance) };
}
