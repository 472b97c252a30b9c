/** Turns braking to a stop into a mirrored launch for the fit: time runs backwards from the stop. Null where there are too few epochs. */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import { silencesOf } from "../align/silences.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { FitInput } from "./launch-fit.ts";
import { groundTrace } from "./ground-trace.ts";
import { familyModel, GRID_S, type LaunchGrid, type LaunchModel } from "./launch-model.ts";
import { binSensor, epochObservations } from "./launch-observations.ts";
import { crossingBetween, indexAtOrBefore } from "../align/timed-lookup.ts";

const BEFORE_S = 1;
const PAST_GATE_S = 0.4;
// Brakes hold until the end: a stop ends far more abruptly than a launch begins.
const STOP_RAMP_S = 0.06;
const STOP_RAMP_SIGMA_S = 0.08;
// Braking by the motor fades out in the last 2 m/s, and drivers ease the pedal. Wheels show this, a receiver hardly does (two generators).
const SEEN_SHAPE_S = 0.005;
const UNSEEN_SHAPE_S = 0.017;
// Within these seconds before standing a filtering receiver is off by as much as its noise.
const LAG_FROM_S = 0.02;
const LAG_TO_S = 0.2;
const LEAST_FALL_MPS = 0.1;
// Undriven wheels turn slower than the road by a few percent under hard braking, much the same throughout.
const BRAKE_SLIP = 0.03;
/** Epochs further apart leave part of the braking unknown. */
const EPOCHS_WITHIN_S = 0.5;
/** Wheels determine the end of a stop only where they report to within this of it: below their threshold they are silent. */
const SEEN_WITHIN_S = 0.6;
const BRAKE_SLIP_SIGMA = 0.02;

export interface StopToFit {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly setUp: SetUp;
  /** When the car was at rest again. */
  readonly stopS: number;
  readonly fromMps: number;
  readonly liftS: number;
}

/** The fit begins a little before the last fall through `fromMps`, never before `liftS`. */
export function prepareStop({ recording, calibration, setUp, stopS, fromMps, liftS }: StopToFit): FitInput | null {
  const { t, v } = groundTrace(recording, calibration);
  let i = indexAtOrBefore(t, stopS);
  while (i > 0 && v[i - 1] < fromMps) i--;
  if (i < 1) return null;
  const fallS = crossingBetween(t[i - 1], v[i - 1], t[i], v[i], fromMps);
  // A hole may hide anything; a line across it would claim knowledge that is not there.
  if (silencesOf(t, t[i - 1], stopS, EPOCHS_WITHIN_S).length > 0) return null;
  // Before the lift the car still gained speed; that is not part of the braking.
  let braking = i;
  while (braking > 0 && v[braking - 1] > v[braking] + LEAST_FALL_MPS) braking--;
  const firstS = Math.max(fallS - PAST_GATE_S, Math.min(Math.max(liftS, t[braking]), fallS - 0.02));
  // Wheels slip under the brakes but not before them. The epoch after the peak was surely braked.
  const wheelsFromS = Math.max(firstS, t[braking + 1]);
  const slope = fromMps / Math.max(0.5, stopS - fallS);
  const grid: LaunchGrid = { fromS: -(stopS + BEFORE_S), count: Math.floor((stopS + BEFORE_S - firstS) / GRID_S) + 1 };
  const seen = epochObservations(recording, calibration, calibration.receiverNoise.whiteMps, firstS, stopS + BEFORE_S);
  if (seen.tS.length < 4) return null;
  const noise = calibration.receiverNoise;
  const sensors = (recording.roles.undrivenWheelSpeeds ?? []).flatMap((column, k) => {
    const scale = calibration.undrivenScales[k];
    if (!scale || !(scale.value > 0)) return [];
    const mirrored = mirror(column, wheelsFromS, stopS + BEFORE_S);
    const bins = binSensor(mirrored, -stopS, grid.fromS, -wheelsFromS, Math.max(0.3, 1.3 * calibration.undrivenThresholdMps) / scale.value);
    const sigma = bins.sigma.map((one, b) => Math.hypot(one, 0.001 * bins.value[b]));
    return [
      {
        bins: { ...bins, sigma },
        scale: scale.value * (1 + BRAKE_SLIP),
        scaleSigma: BRAKE_SLIP_SIGMA,
        slip: null,
        slipSigma: 0,
        wind: null,
      },
    ];
  });
  const seenToStop = sensors.some(({ bins }) => bins.tS.some((tS) => Math.abs(tS + stopS) < SEEN_WITHIN_S));
  const family = familyModel(grid, { startS: -stopS, rampS: STOP_RAMP_S, limitMps2: slope }, setUp.car);
  const model = brakingModel(family, seenToStop);
  // A receiver that filters its speed shows an abrupt stop late by part of its lag; there only wheels are used.
  const kept = [...seen.tS.keys()]
    .filter((i) => !seenToStop || !(seen.speedMps[i] > LAG_FROM_S * slope && seen.speedMps[i] < LAG_TO_S * slope))
    .reverse();
  const { plusMinus95, from } = calibration.gnssDelayS;
  const start = model.parameters.map((parameter) => parameter.mean);
  return {
    model,
    epochs: {
      tS: Float64Array.from(kept, (i) => -seen.tS[i]),
      speedMps: Float64Array.from(kept, (i) => seen.speedMps[i]),
      whiteVariance: Float64Array.from(kept, (i) => seen.whiteVariance[i]),
    },
    delay: { mean: -calibration.gnssDelayS.value, sigma: Math.max(plusMinus95 / TWO_SIDED_95, from === "unknown" ? 0.05 : 5e-4) },
    correlated: { sigma: noise.correlatedMps, timeS: noise.correlationS },
    noiseKnown: from === "calibrated",
    sensors,
    start,
    onsetS: -stopS,
    shapeS: seenToStop ? SEEN_SHAPE_S : UNSEEN_SHAPE_S,
    disturbance: { sigmas: [0.01, 0.02, 0.04, 0.08, 0.16, 0.3], correlationS: 0.4 },
  };
}

/** Brakes have no power limit, and drag helps a stop instead of slowing it. `seen`: wheels show how abruptly it ended. */
function brakingModel(model: LaunchModel, seen: boolean): LaunchModel {
  const parameters = model.parameters.map((one) => {
    if (one.name === "logPower") return { ...one, mean: one.mean + 4, sigma: 0.1 };
    if (seen && one.name === "ramp") return { ...one, sigma: STOP_RAMP_SIGMA_S };
    return one.name === "drag" ? { ...one, mean: -one.mean } : one;
  });
  return { ...model, parameters };
}

function mirror(column: TimedColumn, fromS: number, toS: number): TimedColumn {
  const begin = indexAtOrBefore(column.tS, fromS) + 1;
  const end = indexAtOrBefore(column.tS, toS) + 1;
  return {
    ...column,
    tS: column.tS
      .slice(begin, end)
      .map((t) => -t)
      .reverse(),
    value: column.value.slice(begin, end).reverse(),
  };
}
