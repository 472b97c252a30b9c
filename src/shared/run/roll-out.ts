/**
 * Ground speed after a launch (coasting, braking, standing): a smooth line through receiver and undriven wheels, for drawing and for the
 * stored run. Where there was no data of either, the speed is NaN.
 */
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { addToBand, bandCholesky, emptyBand, inverseDiagonal, solveBand } from "../kernel/band-cholesky.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";
import { binSensor } from "../launch/launch-observations.ts";

export interface SpeedLine {
  readonly at: (tS: number) => { speedMps: number; sigmaMps: number };
}

const KNOT_S = 0.1;
// Typical change of acceleration between knots while a driver brakes, m/s2.
const JERK_STEP_MPS2 = 1.5;
// Undriven wheels slip a few percent under hard braking.
const BRAKE_SLIP = 0.02;
const HEARD_WITHIN_S = 0.6;

/** Line from `fromS` (where speed and sigma are known) to `toS`. */
export function rollOut(
  recording: AlignedRecording,
  calibration: Calibration,
  fromS: number,
  toS: number,
  from: { speedMps: number; sigmaMps: number },
): SpeedLine {
  const n = Math.max(4, Math.ceil((toS - fromS) / KNOT_S) + 1);
  const matrix = emptyBand(n, 2);
  const right = new Float64Array(n);
  const observe = (tS: number, value: number, sigma: number) => {
    const x = (tS - fromS) / KNOT_S;
    if (!(x >= 0 && x <= n - 1)) return;
    const i = Math.min(n - 2, Math.floor(x));
    const part = x - i;
    const weight = sigma ** -2;
    addToBand(matrix, i, i, weight * (1 - part) ** 2);
    addToBand(matrix, i + 1, i, weight * part * (1 - part));
    addToBand(matrix, i + 1, i + 1, weight * part * part);
    right[i] += weight * (1 - part) * value;
    right[i + 1] += weight * part * value;
  };
  observe(fromS, from.speedMps, Math.max(from.sigmaMps, 1e-3));
  const { tS, speedMps } = recording.epochs;
  const noise = Math.hypot(calibration.receiverNoise.whiteMps, calibration.receiverNoise.correlatedMps, 0.005);
  const seen: number[] = [];
  const delayS = calibration.gnssDelayS.value;
  for (let i = indexAtOrBefore(tS, fromS + delayS - 1e-9) + 1; i < tS.length && tS[i] - delayS <= toS; i++) {
    const t = tS[i] - delayS;
    if (t < fromS || !Number.isFinite(speedMps[i])) continue;
    observe(t, speedMps[i], noise);
    seen.push(t);
  }
  (recording.roles.undrivenWheelSpeeds ?? []).forEach((column, k) => {
    const scale = calibration.undrivenScales[k];
    if (!scale || !(scale.value > 0)) return;
    const bins = binSensor(column, fromS - 10, fromS, toS, Math.max(0.3, 1.3 * calibration.undrivenThresholdMps) / scale.value);
    for (let b = 0; b < bins.tS.length; b++) {
      const v = bins.value[b] * scale.value;
      observe(bins.tS[b], v, Math.hypot(BRAKE_SLIP * v, 0.05));
      seen.push(bins.tS[b]);
    }
  });
  seen.sort((a, b) => a - b);
  const weight = (JERK_STEP_MPS2 * KNOT_S) ** -2;
  for (let i = 1; i + 1 < n; i++) {
    const parts = [1, -2, 1];
    for (let a = 0; a < 3; a++) for (let b = 0; b <= a; b++) addToBand(matrix, i - 1 + a, i - 1 + b, weight * parts[a] * parts[b]);
  }
  const lower = bandCholesky(matrix);
  if (!lower) return { at: () => ({ speedMps: Number.NaN, sigmaMps: Number.NaN }) };
  const values = solveBand(lower, right);
  const sigma = inverseDiagonal(lower).map(Math.sqrt);
  return {
    at: (t) => {
      const k = indexAtOrBefore(seen, t);
      const near = t - seen[k] < HEARD_WITHIN_S || seen[k + 1] - t < HEARD_WITHIN_S;
      if (!near) return { speedMps: Number.NaN, sigmaMps: Number.NaN };
      const x = Math.max(0, Math.min(n - 1, (t - fromS) / KNOT_S));
      const i = Math.min(n - 2, Math.floor(x));
      const part = x - i;
      return {
        speedMps: Math.max(0, values[i] + part * (values[i + 1] - values[i])),
        sigmaMps: sigma[i] + part * (sigma[i + 1] - sigma[i]),
      };
    },
  };
}
