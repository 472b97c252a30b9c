/** Receiver speed as the car lived it (delay removed, unknown epochs left out): coarse, for finding launches only. */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import { indexAtOrBefore } from "./timed-lookup.ts";

/** Columns of one length; `restLevelMps` is what a standing receiver's noisy vector may reach above nought. */
export interface GroundTrace {
  readonly t: Float64Array;
  readonly v: Float64Array;
  readonly noiseMps: number;
  readonly restLevelMps: number;
}

const STAND_MPS = 0.5 * MPS_PER_KMH;
const STAND_FOR_S = 1;

export function groundTrace(recording: AlignedRecording, calibration: Calibration): GroundTrace {
  const { tS, speedMps } = recording.epochs;
  const t: number[] = [];
  const v: number[] = [];
  for (let i = 0; i < tS.length; i++) {
    if (!Number.isFinite(speedMps[i]) || !Number.isFinite(tS[i])) continue;
    const at = tS[i] - calibration.gnssDelayS.value;
    if (t.length > 0 && at <= t[t.length - 1]) continue;
    t.push(at);
    v.push(speedMps[i]);
  }
  const noiseMps = Math.hypot(calibration.receiverNoise.correlatedMps, calibration.receiverNoise.whiteMps);
  return { t: Float64Array.from(t), v: Float64Array.from(v), noiseMps, restLevelMps: 2.5 * noiseMps };
}

/**
 * True where the second before epoch k held true speeds under 0.5 km/h. A speed at rest is the length of a vector
 * with noise in both components, so its mean square carries twice the variance of one; that much is taken off.
 */
export function isStandingAt(trace: GroundTrace, k: number): boolean {
  const { t, v, noiseMps } = trace;
  const from = indexAtOrBefore(t, t[k] - STAND_FOR_S - 1e-6) + 1;
  if (t[k] - t[from] < 0.7 * STAND_FOR_S) return false;
  let square = 0;
  for (let i = from; i <= k; i++) {
    if (v[i] > STAND_MPS + 4 * noiseMps) return false;
    square += v[i] ** 2;
  }
  return square / (k - from + 1) - 2 * noiseMps ** 2 < STAND_MPS ** 2;
}
