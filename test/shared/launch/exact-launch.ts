/** Recordings from a closed-form launch: noise-free receiver epochs (and nothing else) of any speed law. Throws on nothing. */
import type { AlignedRecording } from "../../../src/shared/align/aligned-recording.ts";
import type { Calibration } from "../../../src/shared/align/calibration.ts";
import type { Fix } from "../../../src/shared/signals/tracks.ts";
import { randomSource } from "./launch-generator.ts";

export const EXACT_CALIBRATION: Calibration = {
  rollingRadiusM: { value: 0.324, plusMinus95: 0.0006, from: "calibrated" },
  gnssDelayS: { value: 0.06, plusMinus95: 0.004, from: "calibrated" },
  slipPerNm: { value: 1e-4, plusMinus95: 2e-5, from: "calibrated" },
  undrivenScales: [],
  drivenScales: [],
  undrivenThresholdMps: 0,
  receiverNoise: { correlatedMps: 0, correlationS: 0, whiteMps: 0.003 },
  covariance: null,
  usedS: 120,
  notes: [],
};

/** Epochs at `rateHz` of a true speed law; `noiseMps` in both components, 1 mm/s by default. */
export function recordingOf(speedAt: (tS: number) => number, endS: number, rateHz = 10, noiseMps = 0.001): AlignedRecording {
  const random = randomSource(7);
  const n = Math.floor((endS - 0.1) * rateHz);
  const time = Float64Array.from({ length: n }, (_, k) => k / rateHz);
  const same = (x: number) => new Float64Array(n).fill(x);
  return {
    roles: {},
    epochs: {
      tS: time.map((t) => t + EXACT_CALIBRATION.gnssDelayS.value),
      speedMps: time.map((t) => Math.hypot(speedAt(t) + noiseMps * random.normal(), noiseMps * random.normal())),
      speedQuantumMps: same(0.0005),
      burstBytes: same(200),
      utcMs: time.map((t) => 1000 * t),
      dated: true,
      courseDeg: same(74),
      latDeg: same(-30),
      lonDeg: same(-20),
      altM: same(12),
      hdop: same(0.8),
      satellites: same(15),
      fix: new Array<Fix>(n).fill("3d"),
    },
    clocks: {
      can: null,
      gnss: { method: "arrival", driftPpm: 0, sigmaS: 0.0005, sharedSigmaS: 0.0005, medianDelayS: 0.001, worstDelayS: 0.004, segments: 1 },
    },
    utcAtZeroMs: 0,
    utcDrift: 0,
    gaps: [],
    endS,
  };
}
