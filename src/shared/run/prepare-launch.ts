/**
 * Turns a recording and a launch window into the fit's input: which sources are there, with which priors, from which
 * first guess. Null where there are too few epochs; a missing bus falls back to the receiver alone.
 */
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration } from "../align/calibration.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { LaunchWindow } from "./find-launches.ts";
import type { FitInput, SpeedSensor } from "./fit-launch.ts";
import { groundTrace } from "./ground-trace.ts";
import { familyModel, GRID_S, type LaunchGrid, type LaunchModel, torqueModel } from "./launch-model.ts";
import { binSensor, epochObservations } from "./launch-observations.ts";
import { indexAtOrBefore, lineAt } from "./timed-lookup.ts";

const Z95 = 1.959964;
const BEFORE_S = 1.5;
/** Bus values older than this are unknown. */
export const STALE_S = 0.25;

/** Input of the launch fit up to `untilS` (a lift, or now); null when the window holds too little. */
export function prepareLaunch(
  recording: AlignedRecording,
  calibration: Calibration,
  setUp: SetUp,
  window: LaunchWindow,
  untilS: number,
): FitInput | null {
  const trace = groundTrace(recording, calibration);
  const grid: LaunchGrid = { fromS: window.restS - BEFORE_S, count: Math.floor((untilS - window.restS + BEFORE_S) / GRID_S) + 1 };
  const epochs = epochObservations(recording, calibration, grid.fromS, untilS);
  if (epochs.tS.length < 4 || grid.count < 100) return null;
  const torque = torqueOnGrid(recording.roles.torqueDelivered, grid);
  const guess = guessStart(trace.t, trace.v, window);
  const { car } = setUp;
  const radiusM = calibration.rollingRadiusM.value;
  const wheel = wheelOnGrid(recording.roles.motorSpeed, grid, car.gearRatio);
  const model: LaunchModel = torque
    ? torqueModel(grid, guess.startS, {
        torqueNm: torque,
        wheelRadps: wheel,
        massKg: car.massKg,
        gearRatio: car.gearRatio,
        radiusM,
        wheelInertiaKgM2: car.wheelInertiaKgM2 ?? null,
        dragAreaM2: car.dragAreaM2 ?? null,
      })
    : familyModel(grid, guess.startS, 0.25, guess.slopeMps2, car.massKg, car.dragAreaM2 ?? null);
  const sensors: SpeedSensor[] = [];
  (recording.roles.undrivenWheelSpeeds ?? []).forEach((column, k) => {
    const scale = calibration.undrivenScales[k];
    if (!scale || !(scale.value > 0)) return;
    const least = Math.max(0.3, 1.3 * calibration.undrivenThresholdMps) / scale.value;
    sensors.push({
      bins: binSensor(column, guess.startS, grid.fromS, untilS, least),
      scale: scale.value,
      scaleSigma: Math.max(scale.plusMinus95 / Z95 / scale.value, 1e-4),
      slip: null,
      slipSigma: 0,
    });
  });
  const motor = torque ? motorSensor(recording, calibration, setUp, guess.startS, grid, untilS) : null;
  if (motor) sensors.push(motor);
  const noise = calibration.receiverNoise;
  return {
    model,
    epochs,
    delay: { mean: calibration.gnssDelayS.value, sigma: delaySigma(calibration) },
    correlated: { sigma: noise.correlatedMps, timeS: noise.correlationS },
    noiseKnown: calibration.gnssDelayS.from === "calibrated",
    sensors,
    start: bestStart(model, epochs.tS, epochs.speedMps, calibration.gnssDelayS.value, guess.startS),
    disturbance: torque
      ? { sigmas: [0.002, 0.005, 0.01, 0.02, 0.04, 0.08, 0.16], correlationS: 1 }
      : { sigmas: [0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.3], correlationS: 0.5 },
  };
}

const delaySigma = (calibration: Calibration) => {
  const { plusMinus95, from } = calibration.gnssDelayS;
  return from === "unknown" ? Math.max(plusMinus95 / Z95, 0.05) : Math.max(plusMinus95 / Z95, 0.0005);
};

function torqueOnGrid(column: TimedColumn | undefined, grid: LaunchGrid): Float64Array | null {
  if (!column || column.tS.length < 2) return null;
  const torque = new Float64Array(grid.count);
  let missing = 0;
  let last = 0;
  for (let i = 0; i < grid.count; i++) {
    const value = lineAt(column, grid.fromS + i * GRID_S, STALE_S);
    if (Number.isNaN(value)) missing++;
    else last = value;
    torque[i] = last;
  }
  // A hole in the torque bends the curve; the receiver alone is better than that.
  return missing > 0.02 * grid.count ? null : torque;
}

function wheelOnGrid(column: TimedColumn | undefined, grid: LaunchGrid, gearRatio: number): Float64Array | null {
  if (!column || column.tS.length < 2) return null;
  const wheel = new Float64Array(grid.count);
  for (let i = 0; i < grid.count; i++) {
    const value = lineAt(column, grid.fromS + i * GRID_S, STALE_S);
    wheel[i] = Number.isNaN(value) ? (i > 0 ? wheel[i - 1] : 0) : value / gearRatio;
  }
  return wheel;
}

/** Motor speed as ground speed while the tyre's slip is small: under 2 % expected. */
function motorSensor(
  recording: AlignedRecording,
  calibration: Calibration,
  setUp: SetUp,
  startS: number,
  grid: LaunchGrid,
  untilS: number,
): SpeedSensor | null {
  const column = recording.roles.motorSpeed;
  const torque = recording.roles.torqueDelivered;
  const radius = calibration.rollingRadiusM;
  if (!column || !torque || !(radius.value > 0) || !(calibration.slipPerNm.value > 0)) return null;
  const scale = radius.value / setUp.car.gearRatio;
  const bins = binSensor(column, startS, grid.fromS, untilS, 0.3 / scale);
  const kept: number[] = [];
  const slip: number[] = [];
  for (let b = 0; b < bins.tS.length; b++) {
    const expected = calibration.slipPerNm.value * lineAt(torque, bins.tS[b], STALE_S);
    if (!(Math.abs(expected) < MOST_SLIP)) continue;
    kept.push(b);
    slip.push(expected);
  }
  const pick = (values: Float64Array) => Float64Array.from(kept, (b) => values[b]);
  const slipFigure = calibration.slipPerNm;
  return {
    bins: { name: bins.name, tS: pick(bins.tS), value: pick(bins.value), sigma: pick(bins.sigma) },
    scale,
    scaleSigma: Math.max(radius.plusMinus95 / Z95 / radius.value, 1e-4),
    slip: Float64Array.from(slip),
    slipSigma: Math.min(1, Math.max(slipFigure.plusMinus95 / Z95 / slipFigure.value, 0.05)),
  };
}

const MOST_SLIP = 0.02;

/** First guess: back along the slope between 10 km/h and half a second later. */
function guessStart(t: Float64Array, v: Float64Array, window: LaunchWindow): { startS: number; slopeMps2: number } {
  const i = Math.max(0, indexAtOrBefore(t, window.movingS));
  const j = Math.min(t.length - 1, Math.max(i + 1, indexAtOrBefore(t, window.movingS + 0.5)));
  const slope = Math.max(1, t[j] > t[i] ? (v[j] - v[i]) / (t[j] - t[i]) : 1);
  return { startS: Math.max(window.restS - 0.5, t[i] - v[i] / slope - 0.1), slopeMps2: slope };
}

/** Scans the start (and the ramp of the receiver's family) coarsely, so that Gauss-Newton begins near the right valley. */
function bestStart(model: LaunchModel, tS: Float64Array, seen: Float64Array, delayS: number, startS: number): number[] {
  const theta = model.parameters.map((parameter) => parameter.mean);
  const speed = new Float64Array(model.grid.count);
  const scratch = new Float64Array(model.grid.count);
  let best = theta;
  let least = Number.POSITIVE_INFINITY;
  const extra = model.kind === "family" ? [-0.9, 0, 0.9] : [0];
  for (let shift = -0.6; shift <= 0.6; shift += 0.05) {
    for (const more of extra) {
      const trial = [...theta];
      trial[0] = startS + shift;
      if (model.kind === "family") trial[1] += more;
      model.drive(trial, speed, scratch);
      let cost = 0;
      for (let e = 0; e < tS.length; e++) {
        const i = Math.round((tS[e] - delayS - model.grid.fromS) / GRID_S);
        // Only the first seconds tell the start; later the power limit is still unknown.
        if (i >= 0 && i < speed.length && seen[e] < 14) cost += Math.abs(speed[i] - seen[e]);
      }
      if (cost < least) {
        least = cost;
        best = trial;
      }
    }
  }
  return [...best];
}
