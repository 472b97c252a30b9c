/**
 * What one run shows of the road's slope: where it was driven, how long it was, and how much more it accelerated than its torque explains.
 * Null where unknown.
 */
import { median } from "../kernel/statistics.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { LaunchWindow } from "../launch/find-launches.ts";
import type { RunSamples, SlopeSigns } from "./run.ts";
import { crossingBetween, indexAtOrBefore } from "../align/timed-lookup.ts";

/**
 * The same speeds in every run, so that drag, and the set-up's error of it, is the same in both directions. 36 to 90 km/h lie inside a 0-60
 * mph run.
 */
const FROM_MPS = 10;
const TO_MPS = 25;
/** Both driven wheels and the rotor. A usual value where the set-up has none; it cancels between directions. */
const USUAL_INERTIA_KGM2 = 3;
const MOST_UNKNOWN = 0.02;
/** Altitude at the end is a median over the last second, so it is the altitude half a second before the end. */
const ALTITUDE_LAG_S = 0.5;

/** For one run; `samples` null where it could not be timed. */
export function slopeSignsOf(
  recording: AlignedRecording,
  calibration: Calibration,
  setUp: SetUp,
  window: LaunchWindow,
  samples: RunSamples | null,
): SlopeSigns {
  return {
    place: placeAt(recording, calibration, window.restS),
    lengthM: samples === null ? null : lengthAt(samples, window.endS - ALTITUDE_LAG_S),
    surplusMps2: samples === null ? null : surplusOf(samples, calibration, setUp, window.liftS),
  };
}

/** Distance driven by then; null before the start and where unknown. */
function lengthAt({ tS, distanceM }: RunSamples, atS: number): number | null {
  const x = distanceM[indexAtOrBefore(tS, atS)] ?? Number.NaN;
  return x > 0 ? x : null;
}

/** Where the car stood: medians over the second before it moved. */
function placeAt({ epochs }: AlignedRecording, calibration: Calibration, restS: number): SlopeSigns["place"] {
  const until = restS + calibration.gnssDelayS.value;
  const [from, to] = [indexAtOrBefore(epochs.tS, until - 1) + 1, indexAtOrBefore(epochs.tS, until) + 1];
  const [latDeg, lonDeg] = [median(epochs.latDeg.subarray(from, to)), median(epochs.lonDeg.subarray(from, to))];
  return Number.isFinite(latDeg) && Number.isFinite(lonDeg) ? { latDeg, lonDeg } : null;
}

/**
 * Mean acceleration between two speeds minus driving force over mass. The driving force is delivered torque less what accelerates the
 * wheels' inertia. Drag is not subtracted.
 */
function surplusOf(
  { tS, groundSpeedMps: v, wheelSpeedMps: wheel, roles }: RunSamples,
  calibration: Calibration,
  setUp: SetUp,
  liftS: number,
): number | null {
  const torque = roles.torqueDelivered;
  if (torque === undefined) return null;
  const rise = (level: number) => {
    for (let i = 1; i < tS.length && tS[i] < liftS; i++) if (v[i - 1] < level && v[i] >= level) return i;
    return -1;
  };
  const [first, last] = [rise(FROM_MPS), rise(TO_MPS)];
  if (first < 0 || last <= first) return null;
  const seconds =
    crossingBetween(tS[last - 1], v[last - 1], tS[last], v[last], TO_MPS) -
    crossingBetween(tS[first - 1], v[first - 1], tS[first], v[first], FROM_MPS);
  let sum = 0;
  let known = 0;
  for (let i = first; i <= last; i++) {
    if (Number.isNaN(torque[i])) continue;
    sum += torque[i];
    known += 1;
  }
  const radius = calibration.rollingRadiusM.value;
  const spunUp = (wheel[last] - wheel[first]) / radius;
  if (known < (1 - MOST_UNKNOWN) * (last - first + 1) || !Number.isFinite(spunUp)) return null;
  const { massKg, gearRatio, wheelInertiaKgM2 = USUAL_INERTIA_KGM2 } = setUp.car;
  const driving = (sum / known) * gearRatio - (wheelInertiaKgM2 * spunUp) / seconds;
  return (TO_MPS - FROM_MPS) / seconds - driving / (radius * massKg);
}
