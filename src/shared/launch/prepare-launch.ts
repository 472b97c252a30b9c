/**
 * Turns a recording and a launch window into the fit's input: the sources, their priors and a first guess. Null with too few epochs.
 * Without bus signals the receiver alone is used.
 */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import type { AlignedRecording, TimedColumn } from "../align/aligned-recording.ts";
import type { Calibration, ReceiverNoise } from "../align/calibration.ts";
import { silencesOf } from "../align/silences.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { LaunchWindow } from "./find-launches.ts";
import type { FitInput, SpeedSensor } from "./launch-fit.ts";
import { type GroundTrace, groundTrace } from "./ground-trace.ts";
import { familyModel, GRID_S, type LaunchGrid, type LaunchModel, torqueModel } from "./launch-model.ts";
import { binSensor, epochObservations } from "./launch-observations.ts";
import { noiseAtRest } from "./noise-at-rest.ts";
import { indexAtOrBefore, lineAt } from "../align/timed-lookup.ts";

const BEFORE_S = 1.5;
// A motor that is free to turn visibly does so within this time of its torque.
const TURNS_WITHIN_S = 0.03;
// Error of the start beyond its half width where torque does not shape it, measured on two generators (test/shared/run, test/claims).
const FAMILY_SHAPE_S = 0.01;
const UNKNOWN_DELAY_S = 0.15;
/**
 * How much delivered torque may differ from the force on the road, relative to the acceleration. The smallest candidates are used only
 * where the receiver can contradict them: with a noisy one intervals would be too narrow (30 to 60 mph at 0.10 m/s: 85 of 100 inside).
 */
const DISTURBANCES = [0.005, 0.01, 0.02, 0.04, 0.08, 0.16];
const LEAST_DISTURBANCES = [0.0005, 0.002];
const CLEAR_MPS = 0.06;
const isClear = ({ whiteMps, correlatedMps }: ReceiverNoise) => Math.hypot(whiteMps, correlatedMps) < CLEAR_MPS;
// During a longer silence the torque may have done anything. With one of the last length at the start, it is not used there.
const UNHEARD_S = 0.1;
const START_HEARD_S = 0.3;
const START_UNHEARD_S = 1;
/** The receiver alone can time a start only if its epochs are closer together than this. */
const START_EPOCHS_S = 0.6;
/** Bus values older than this are unknown. */
export const STALE_S = 0.25;

/** Input of the launch fit up to `limitS` (the pedal's release, or now); null when the window holds too little. */
export function prepareLaunch(
  recording: AlignedRecording,
  calibration: Calibration,
  setUp: SetUp,
  window: LaunchWindow,
  limitS: number,
): FitInput | null {
  const trace = groundTrace(recording, calibration);
  const unknownDelay = calibration.gnssDelayS.from === "unknown";
  const wheels = (recording.roles.undrivenWheelSpeeds ?? []).length > 0;
  const untilS = unknownDelay && !wheels ? Math.min(limitS + UNKNOWN_DELAY_S, peakS(trace, window)) : limitS;
  const calibrated = calibration.gnssDelayS.from === "calibrated";
  const noise = (calibrated ? null : noiseAtRest(trace)) ?? calibration.receiverNoise;
  const grid: LaunchGrid = { fromS: window.restS - BEFORE_S, count: Math.floor((untilS - window.restS + BEFORE_S) / GRID_S) + 1 };
  // Wheels show the lift on the bus clock. An epoch that arrived before the lift describes an instant before it.
  const lastEpochS = unknownDelay && wheels ? limitS - calibration.gnssDelayS.value : untilS;
  const epochs = epochObservations(recording, calibration, noise.whiteMps, grid.fromS, lastEpochS);
  if (epochs.tS.length < 4 || grid.count < 100) return null;
  const guess = guessStart(trace.t, trace.v, window);
  const heard = torqueOnGrid(recording.roles.torqueDelivered, grid, guess);
  const torque = heard?.torque ?? null;
  if (torque === null && startUnheardS(trace, window) > 0) return null;
  if (torque) heldStill(torque, recording.roles.motorSpeed, grid, guess.anchorS);
  const { car } = setUp;
  const radiusM = calibration.rollingRadiusM.value;
  const { motorSpeed } = recording.roles;
  const wheel = motorSpeed && motorSpeed.tS.length > 1 ? onGrid(motorSpeed, grid).map((value) => value / car.gearRatio) : null;
  const model: LaunchModel = heard
    ? torqueModel(grid, guess.anchorS, guess.anchorMps, {
        torqueNm: heard.torque,
        unheard: heard.unheard,
        wheelRadps: wheel,
        massKg: car.massKg,
        gearRatio: car.gearRatio,
        radiusM,
        wheelInertiaKgM2: car.wheelInertiaKgM2 ?? null,
        dragAreaM2: car.dragAreaM2 ?? null,
      })
    : familyModel(grid, { startS: guess.startS, rampS: 0.22, limitMps2: guess.slopeMps2 }, car);
  const sensors: SpeedSensor[] = [];
  // Torque lost at the start: the family model is then too rough for the wheels' precision. The receiver alone gives a wider interval.
  const lost = torque === null && recording.roles.torqueDelivered !== undefined;
  (lost ? [] : (recording.roles.undrivenWheelSpeeds ?? [])).forEach((column, k) => {
    const scale = calibration.undrivenScales[k];
    if (!scale || !(scale.value > 0)) return;
    // The sensor's noise blurs its threshold by a few per cent.
    const least = Math.max(0.3, 1.1 * calibration.undrivenThresholdMps) / scale.value;
    sensors.push({
      bins: binSensor(column, guess.startS, grid.fromS, untilS, least),
      scale: scale.value,
      scaleSigma: Math.max(scale.plusMinus95 / TWO_SIDED_95 / scale.value, 1e-4),
      slip: null,
      wind: null,
      slipSigma: 0,
    });
  });
  // Undriven wheels show the road itself. The motor shows it only through a tyre curve that is never known exactly.
  const motor =
    torque && sensors.length === 0 ? motorSensor({ recording, calibration, setUp, startS: guess.startS, grid, untilS, trace }) : null;
  if (motor) sensors.push(motor);
  return {
    model,
    epochs,
    delay: { mean: calibration.gnssDelayS.value, sigma: delaySigma(calibration) },
    correlated: { sigma: noise.correlatedMps, timeS: noise.correlationS },
    noiseKnown: calibrated,
    sensors,
    start: torque ? [] : bestStart(model, epochs.tS, epochs.speedMps, calibration.gnssDelayS.value, guess.startS),
    onsetS: guess.startS,
    shapeS: torque ? null : FAMILY_SHAPE_S,
    disturbance: torque
      ? { sigmas: isClear(noise) ? [...LEAST_DISTURBANCES, ...DISTURBANCES] : DISTURBANCES, correlationS: 1 }
      : { sigmas: [0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.3, 0.6], correlationS: 0.5 },
  };
}

/** Seconds without an epoch between standing and 10 km/h, where this is too long for the receiver to time the start; else 0. */
export function startUnheardS(trace: GroundTrace, window: LaunchWindow): number {
  if (trace.t.length === 0) return 0;
  const unheard = silencesOf(trace.t, window.restS, window.movingS, START_EPOCHS_S);
  return unheard.reduce((most, { fromS, toS }) => Math.max(most, toS - fromS), 0);
}

/** With an unknown delay, the pedal's lift cannot be placed among the epochs; the peak of speed is used instead. */
function peakS(trace: GroundTrace, window: LaunchWindow): number {
  let peak = indexAtOrBefore(trace.t, window.movingS);
  for (let i = peak; i < trace.t.length && trace.t[i] < window.liftS + 2 * UNKNOWN_DELAY_S; i++) if (trace.v[i] > trace.v[peak]) peak = i;
  return trace.t[peak];
}

const delaySigma = (calibration: Calibration) => {
  const { plusMinus95, from } = calibration.gnssDelayS;
  return from === "unknown" ? Math.max(plusMinus95 / TWO_SIDED_95, 0.05) : Math.max(plusMinus95 / TWO_SIDED_95, 0.0005);
};

/**
 * Torque at grid points, and the spans without torque while the car moved. Null where there is none at all or none at the start; then the
 * receiver alone is better.
 */
function torqueOnGrid(
  column: TimedColumn | undefined,
  grid: LaunchGrid,
  guess: { startS: number; anchorS: number },
): { torque: Float64Array; unheard: { from: number; to: number }[] } | null {
  if (!column || column.tS.length < 2) return null;
  const endS = grid.fromS + (grid.count - 1) * GRID_S;
  const holes = silencesOf(column.tS, grid.fromS, endS, UNHEARD_S);
  const atStart = holes.filter(({ fromS, toS }) => fromS < guess.anchorS + START_HEARD_S && toS > guess.startS - START_HEARD_S);
  if (atStart.some(({ fromS, toS }) => toS - fromS > START_UNHEARD_S)) return null;
  const torque = onGrid(column, grid);
  const unheard = holes
    .filter((hole) => hole.fromS > guess.anchorS || atStart.includes(hole))
    .map(({ fromS, toS }) => ({
      from: Math.max(0, Math.floor((fromS - grid.fromS) / GRID_S)),
      to: Math.min(grid.count - 1, Math.ceil((toS - grid.fromS) / GRID_S)),
    }));
  return { torque, unheard };
}

/** Straight lines between readings, however far apart; the first and the last value are held. */
function onGrid({ tS, value }: TimedColumn, grid: LaunchGrid): Float64Array {
  const out = new Float64Array(grid.count);
  let j = Math.max(0, indexAtOrBefore(tS, grid.fromS));
  for (let i = 0; i < grid.count; i++) {
    const t = grid.fromS + i * GRID_S;
    while (j + 1 < tS.length && tS[j + 1] <= t) j++;
    const span = j + 1 < tS.length && t > tS[j] ? tS[j + 1] - tS[j] : 0;
    out[i] = span > 0 ? value[j] + ((t - tS[j]) / span) * (value[j + 1] - value[j]) : value[j];
  }
  return out;
}

/** Torque against held brakes moves nothing. Before `untilS` it therefore counts only from just before the motor first turns. */
function heldStill(torque: Float64Array, motor: TimedColumn | undefined, grid: LaunchGrid, untilS: number): void {
  if (!motor) return;
  for (let i = 0; i < grid.count; i++) {
    const tS = grid.fromS + i * GRID_S;
    if (tS > untilS) return;
    if (Math.abs(lineAt(motor, tS + TURNS_WITHIN_S, STALE_S)) <= 1.5 * motor.quantum) torque[i] = 0;
  }
}

interface MotorHeard {
  readonly recording: AlignedRecording;
  readonly calibration: Calibration;
  readonly setUp: SetUp;
  readonly startS: number;
  readonly grid: LaunchGrid;
  readonly untilS: number;
  readonly trace: GroundTrace;
}

/** Motor speed as a sensor of ground speed, while little tyre slip is expected (MOST_SLIP). */
function motorSensor({ recording, calibration, setUp, startS, grid, untilS, trace }: MotorHeard): SpeedSensor | null {
  const column = recording.roles.motorSpeed;
  const torque = recording.roles.torqueDelivered;
  const radius = calibration.rollingRadiusM;
  if (!column || !torque || !(radius.value > 0) || !(calibration.slipPerNm.value > 0)) return null;
  const scale = radius.value / setUp.car.gearRatio;
  const bins = binSensor(column, startS, grid.fromS, untilS, MOTOR_FROM_MPS / scale);
  const kept: number[] = [];
  const slip: number[] = [];
  const wind: number[] = [];
  // While the torque changes, shafts wind up and tyres lag: the motor then runs ahead of the road.
  const windMpsPerNm = (radius.value * setUp.car.gearRatio) / SHAFT_NM_PER_RAD;
  for (let b = 0; b < bins.tS.length; b++) {
    const torqueNow = lineAt(torque, bins.tS[b], STALE_S);
    const expected = calibration.slipPerNm.value * torqueNow;
    const rate =
      (lineAt(torque, bins.tS[b] + WIND_STEP_S, STALE_S) - lineAt(torque, bins.tS[b] - WIND_STEP_S, STALE_S)) / (2 * WIND_STEP_S);
    if (!(Math.abs(expected) < MOST_SLIP) || !Number.isFinite(rate)) continue;
    const i = indexAtOrBefore(trace.t, bins.tS[b]);
    if (i < 0 || i + 1 >= trace.t.length) continue;
    const v = trace.v[i] + ((bins.tS[b] - trace.t[i]) / (trace.t[i + 1] - trace.t[i])) * (trace.v[i + 1] - trace.v[i]);
    // Spinning or locked: whatever the torque, this wheel does not show the road's speed.
    if (Math.abs(bins.value[b] * scale - v) > SPIN_SHARE * v + 4 * trace.noiseMps + 0.1) continue;
    kept.push(b);
    slip.push(expected);
    wind.push(rate * windMpsPerNm);
  }
  const pick = (values: Float64Array) => Float64Array.from(kept, (b) => values[b]);
  const slipFigure = calibration.slipPerNm;
  return {
    bins: { name: bins.name, tS: pick(bins.tS), value: pick(bins.value), sigma: pick(bins.sigma) },
    scale,
    scaleSigma: Math.max(radius.plusMinus95 / TWO_SIDED_95 / radius.value, 1e-4),
    slip: Float64Array.from(slip),
    wind: Float64Array.from(wind),
    slipSigma: Math.min(1, Math.max(slipFigure.plusMinus95 / TWO_SIDED_95 / slipFigure.value, LEAST_SLIP_SIGMA)),
  };
}

// Linear slip up to which a curve with one further term is still valid.
const MOST_SLIP = 0.035;
// First epoch surely above the noise of a standing receiver; the torque model is anchored here.
const ANCHOR_MPS = 1;
// Tyres warm up between the gentle drive and the launch.
const LEAST_SLIP_SIGMA = 0.02;
const SPIN_SHARE = 0.04;
const MOTOR_FROM_MPS = 1.5;
const WIND_STEP_S = 0.03;
// Both half shafts of a road car, at the wheels: 7,000 to 14,000 Nm a radian (from memory).
const SHAFT_NM_PER_RAD = 9000;

/** First guess: the slope between 10 km/h and half a second later, continued back to 0. */
function guessStart(
  t: Float64Array,
  v: Float64Array,
  window: LaunchWindow,
): { startS: number; slopeMps2: number; anchorS: number; anchorMps: number } {
  const i = Math.max(0, indexAtOrBefore(t, window.movingS));
  const j = Math.min(t.length - 1, Math.max(i + 1, indexAtOrBefore(t, window.movingS + 0.5)));
  const slope = Math.max(1, t[j] > t[i] ? (v[j] - v[i]) / (t[j] - t[i]) : 1);
  let a = i;
  while (a > 0 && v[a - 1] > ANCHOR_MPS) a--;
  return { startS: Math.max(window.restS - 0.5, t[i] - v[i] / slope - 0.1), slopeMps2: slope, anchorS: t[a], anchorMps: v[a] };
}

/**
 * Scans start and ramp of the family model coarsely, with the strength fitted to each pair, so that Gauss-Newton begins near the right
 * minimum. Of equally good starts the latest is taken: before any force the car only stands.
 */
function bestStart(model: LaunchModel, tS: Float64Array, seen: Float64Array, delayS: number, startS: number): number[] {
  const mean = model.parameters.map((parameter) => parameter.mean);
  const speed = new Float64Array(model.grid.count);
  const scratch = new Float64Array(model.grid.count);
  let best = mean;
  let least = Number.POSITIVE_INFINITY;
  for (let shift = -0.6; shift <= 0.6; shift += 0.03) {
    for (const ramp of [0.05, 0.12, 0.25, 0.45]) {
      const trial = [...mean];
      trial[0] = startS + shift;
      trial[1] = ramp;
      model.drive(trial, speed, null, scratch);
      const expected: number[] = [];
      const found: number[] = [];
      let up = 0;
      let down = 0;
      for (let e = 0; e < tS.length; e++) {
        const i = Math.round((tS[e] - delayS - model.grid.fromS) / GRID_S);
        // Only the first seconds determine the start; the power limit of later ones is not known yet.
        if (i < 0 || i >= speed.length || seen[e] > 12) continue;
        expected.push(speed[i]);
        found.push(seen[e]);
        up += speed[i] * seen[e];
        down += speed[i] ** 2;
      }
      const strength = down > 0 ? Math.max(0.7, Math.min(1.4, up / down)) : 1;
      const cost = expected.reduce((sum, v, k) => sum + Math.abs(found[k] - strength * v), 0);
      if (cost > 1.001 * least) continue;
      least = Math.min(cost, least);
      trial[2] += Math.log(strength);
      best = trial;
    }
  }
  return [...best];
}
