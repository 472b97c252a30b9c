/** Which receiver epochs a calibration may use, and how many seconds of driving they cover. Unusable speeds are NaN. */
import type { AlignedRecording } from "./aligned-recording.ts";

const BEND_SPAN_S = 1.2;
/** Radius of 50 m: there a car's front and rear wheels differ by about a thousandth. */
const MOST_CURVATURE_PER_M = 1 / 50;
/** A longer step between used epochs is time that was not used. */
export const LONGEST_STEP_S = 1.5;

/** Speeds of valid epochs in nearly straight driving. In a bend each wheel and the receiver follow their own radius. */
export function usableSpeeds(recording: AlignedRecording): Float64Array {
  const { speedMps, fix, courseDeg, tS } = recording.epochs;
  const usable = speedMps.map((speed, i) => (fix[i] === "none" || fix[i] === "estimated" ? Number.NaN : speed));
  let from = 0;
  for (let i = 0; i < tS.length; i++) {
    while (tS[i] - tS[from] > BEND_SPAN_S) from += 1;
    const to = i;
    const distanceM = speedMps[i] * (tS[to] - tS[from]);
    if (!(distanceM > 0)) continue;
    const turned = Math.abs(((courseDeg[to] - courseDeg[from] + 540) % 360) - 180) * (Math.PI / 180);
    // The noise of the course is about the noise of the speed over the speed.
    const noise = 0.15 / Math.min(speedMps[from], speedMps[to]);
    if (turned - noise > distanceM * MOST_CURVATURE_PER_M) for (let k = from; k <= to; k++) usable[k] = Number.NaN;
  }
  return usable;
}

/** Seconds that the epochs with these indices cover, holes left out. */
export function secondsUsed(recording: AlignedRecording, epochs: readonly number[]): number {
  let sum = 0;
  const { tS } = recording.epochs;
  for (let k = 1; k < epochs.length; k++) {
    const step = tS[epochs[k]] - tS[epochs[k - 1]];
    if (step < LONGEST_STEP_S) sum += step;
  }
  return sum;
}
