/**
 * Fits the receiver's delay on delivered torque alone. Force through the car's mass gives the shape of its speed; the receiver shows the
 * same shape a delay later. Strength, drag, rolling, gear loss and the tyre's lag are fitted; the road's slope varies by an amount that the
 * data determine. Brakes, jolts and hard driving end a stretch. Null where too little is left.
 */
import { OUTLIER_SIGMAS } from "./speed-fit.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedRecording, TimedColumn } from "./aligned-recording.ts";
import type { ReceiverNoise } from "./calibration.ts";
import { AXLE_KGM2, brakeThreshold, GRID_STEP_S, resample, smooth } from "./drive-grid.ts";
import {
  AIR_KGPM3,
  DRAG_AREA_M2,
  DRAG_SIGMA,
  GAIN_SIGMA,
  GEAR_LOSS,
  GEAR_LOSS_SIGMA,
  integral,
  REPORT_SIGMA_S,
  ROLL_SIGMA_MPS2,
  ROLLING,
  sinceStretch,
  stretchesOf,
} from "./force-balance.ts";
import { createForceWhitener, FORCE_SHAPES } from "./force-noise.ts";
import { alone, weighedStep } from "./weighed-step.ts";

/**
 * A tyre under torque must first build up the slip that carries the force. With inertia J, radius R and tyre stiffness C this takes J v /
 * (R^2 C), 5 to 12 ms in a road car. Stiffness is 18 a load, give or take 30 % (nominal-calibration.ts). The lag grows with speed and the
 * receiver's delay does not, so a drive at two levels of speed separates them, and the lag is fitted.
 */
const LAG_SHARE_SIGMA = 0.3;
const LEAST_SPEED_MPS = 1.5;
const MOST_FORCE_MPS2 = 2;
/** A deceleration over a second that torque does not explain by this much: the brakes, or a slope steeper than the model allows. */
const UNEXPLAINED_MPS2 = -0.5;
const LEAST_EPOCHS = 60;

export interface ForceFit {
  readonly delayS: number;
  readonly delaySigmaS: number;
  readonly noise: ReceiverNoise;
  readonly epochs: readonly number[];
}

interface Ready {
  readonly startS: number;
  readonly stretch: Int32Array;
  /**
   * Integrals over time since the stretch's start, m/s: force, its absolute value, drag, rolling, and what another lag of the same size
   * adds to force.
   */
  readonly integrals: readonly Float64Array[];
}

const PARAMETERS = ["delay", "gain", "loss", "drag", "roll", "lag"] as const;

/** Fits the delay; `radiusM` and `slipPerNm` need only be approximate. */
export function fitForce(
  recording: AlignedRecording,
  setUp: SetUp,
  speedMps: Float64Array,
  near: { readonly radiusM: number; readonly slipPerNm: number; readonly delayS: number },
): ForceFit | null {
  const torque = recording.roles.torqueDelivered;
  if (torque === undefined || torque.tS.length < 2) return null;
  let delayS = near.delayS;
  let bad = new Set<number>();
  let shapes = FORCE_SHAPES;
  const parameters = new Float64Array(PARAMETERS.length);
  parameters.set([delayS, 1, GEAR_LOSS, 1, 0, 0]);
  let answer: ForceFit | null = null;
  for (let pass = 0; pass < 8; pass++) {
    const ready = prepare(recording, torque, setUp, speedMps, { ...near, delayS });
    const rows: number[] = [];
    recording.epochs.tS.forEach((tS, i) => {
      if (!bad.has(i) && Number.isFinite(speedMps[i]) && placeOf(ready, tS - delayS) !== null) rows.push(i);
    });
    if (rows.length < LEAST_EPOCHS) return null;
    const { residuals, derivatives, stretches } = linearise(recording, ready, rows, parameters, speedMps);
    const times = rows.map((i) => recording.epochs.tS[i]);
    const fitted = weighedStep({
      residuals,
      derivatives,
      shapes,
      whitenerOf: (shape) => createForceWhitener(times, stretches, shape),
      logPrior: ({ ratio }) => (ratio === 0 ? Math.log(6) : 0),
      beforehand: alone(
        [
          { at: 1, mean: 1, sigma: GAIN_SIGMA },
          { at: 2, mean: GEAR_LOSS, sigma: GEAR_LOSS_SIGMA },
          { at: 3, mean: 1, sigma: DRAG_SIGMA },
          { at: 4, mean: 0, sigma: ROLL_SIGMA_MPS2 },
          { at: 5, mean: 0, sigma: LAG_SHARE_SIGMA },
        ],
        parameters,
      ),
    });
    // The step is bounded: far from the answer the slope of the speed says little of where the answer lies.
    fitted.step[0] = Math.max(-0.1, Math.min(0.1, fitted.step[0]));
    fitted.step.forEach((value, a) => {
      parameters[a] += value;
    });
    delayS = parameters[0];
    if (pass > 2) shapes = fitted.likely;
    const whiteMps = Math.sqrt(fitted.best.variance);
    const { ratio, correlationS } = fitted.best.shape;
    answer = {
      delayS,
      delaySigmaS: Math.hypot(Math.sqrt(fitted.covariance[0]), REPORT_SIGMA_S),
      noise: { correlatedMps: whiteMps * Math.sqrt(ratio), correlationS, whiteMps },
      epochs: rows,
    };
    const found = new Set(bad);
    fitted.best.standardised.forEach((value, k) => {
      if (Math.abs(value) > OUTLIER_SIGMAS) found.add(rows[k]);
    });
    if (pass > 2 && found.size === bad.size && Math.abs(fitted.step[0]) < 2e-4) break;
    bad = pass > 0 ? found : bad;
  }
  return answer;
}

/** Seconds from torque to force on the road, per m/s of speed. */
function lagPerMps(setUp: SetUp, near: { readonly radiusM: number; readonly slipPerNm: number }): number {
  const { wheelInertiaKgM2 = AXLE_KGM2, gearRatio } = setUp.car;
  // C R / ratio is what slip per newton metre of the motor means.
  return (wheelInertiaKgM2 * near.slipPerNm) / (near.radiusM * gearRatio);
}

function prepare(
  recording: AlignedRecording,
  torque: TimedColumn,
  setUp: SetUp,
  speedMps: Float64Array,
  near: { readonly radiusM: number; readonly slipPerNm: number; readonly delayS: number },
): Ready {
  const { massKg, gearRatio, wheelInertiaKgM2 = AXLE_KGM2, dragAreaM2 = DRAG_AREA_M2 } = setUp.car;
  const startS = torque.tS[0];
  const count = Math.max(1, Math.floor((torque.tS[torque.tS.length - 1] - startS) / GRID_STEP_S));
  const delivered = smooth(resample(torque, startS, count));
  const seen = seenSpeed(recording, speedMps, near.delayS, startS, count);
  const perNm = gearRatio / near.radiusM / (massKg + wheelInertiaKgM2 / near.radiusM ** 2);
  const lag = lagPerMps(setUp, near) / GRID_STEP_S;
  const braking = recording.roles.brake === undefined ? null : resample(recording.roles.brake, startS, count);
  const brakeOn = braking === null ? Infinity : brakeThreshold(braking);
  const force = new Float64Array(count);
  const drag = new Float64Array(count);
  const explained = new Float64Array(count);
  const calm = new Uint8Array(count);
  let sum = 0;
  for (let i = 0; i < count; i++) {
    const v = Number.isFinite(seen[i]) ? seen[i] : 0;
    const at = Math.max(0, Math.min(count - 1.001, i - lag * v));
    const j = Math.floor(at);
    force[i] = perNm * (delivered[j] + (at - j) * (delivered[j + 1] - delivered[j]));
    drag[i] = (0.5 * AIR_KGPM3 * dragAreaM2 * v * v) / massKg;
    const known = Number.isFinite(force[i]) && Number.isFinite(seen[i]);
    if (!known) force[i] = 0;
    sum += (force[i] - drag[i] - ROLLING * STANDARD_GRAVITY_MPS2) * GRID_STEP_S;
    explained[i] = sum;
    calm[i] = known && v > LEAST_SPEED_MPS && Math.abs(force[i]) < MOST_FORCE_MPS2 && !(braking !== null && braking[i] > brakeOn) ? 1 : 0;
  }
  const half = Math.round(0.5 / GRID_STEP_S);
  const rough: number[] = [];
  for (let i = half; i + half < count; i++) {
    const short = (seen[i + half] - seen[i - half] - explained[i + half] + explained[i - half]) / (2 * half * GRID_STEP_S);
    if (!(short > UNEXPLAINED_MPS2)) rough.push(i);
  }
  for (const i of rough) calm.fill(0, Math.max(0, i - half), i + half + 1);
  const stretch = stretchesOf(calm);
  const later = force.map((_, i) => {
    const before = Math.max(0, i - 1);
    const after = Math.min(count - 1, i + 1);
    return Number.isFinite(seen[i]) ? (-lag * seen[i] * (force[after] - force[before])) / (after - before) : 0;
  });
  const columns = [force, force.map(Math.abs), drag, new Float64Array(count).fill(1), later];
  return { startS, stretch, integrals: columns.map((column) => sinceStretch(integral(column), stretch)) };
}

/** The receiver's speed at the instant that the present delay gives. */
function seenSpeed(recording: AlignedRecording, speedMps: Float64Array, delayS: number, startS: number, count: number): Float64Array {
  const known = Array.from(speedMps.keys()).filter((i) => Number.isFinite(speedMps[i]));
  const column = {
    tS: Float64Array.from(known, (i) => recording.epochs.tS[i] - delayS),
    value: Float64Array.from(known, (i) => speedMps[i]),
  };
  return resample(column, startS, count, false, LEAST_RATE_S);
}

/** Epochs further apart than this are not joined by straight lines, s. */
const LEAST_RATE_S = 1.1;

function placeOf({ startS, stretch }: Ready, tS: number): { i: number; share: number; stretch: number } | null {
  const place = (tS - startS) / GRID_STEP_S;
  const i = Math.floor(place);
  if (!(i >= 1 && i + 2 < stretch.length) || stretch[i] < 0 || stretch[i + 1] !== stretch[i]) return null;
  return { i, share: place - i, stretch: stretch[i] };
}

function linearise(
  recording: AlignedRecording,
  ready: Ready,
  rows: readonly number[],
  parameters: Float64Array,
  speedMps: Float64Array,
): { residuals: Float64Array; derivatives: Float64Array[]; stretches: number[] } {
  const residuals = new Float64Array(rows.length);
  const derivatives = PARAMETERS.map(() => new Float64Array(rows.length));
  const stretches: number[] = [];
  const [delayS, gain, loss, drag, roll, lag] = parameters;
  const weights = [gain, -loss, -drag, -(ROLLING * STANDARD_GRAVITY_MPS2 + roll), lag];
  let first = 0;
  rows.forEach((row, k) => {
    const at = placeOf(ready, recording.epochs.tS[row] - delayS);
    if (at === null) throw new RangeError("Expected an epoch inside a calm stretch, got one outside");
    if (stretches[k - 1] !== at.stretch) first = speedMps[row];
    stretches.push(at.stretch);
    const value = ready.integrals.map((column) => column[at.i] + at.share * (column[at.i + 1] - column[at.i]));
    const slope = ready.integrals.map((column) => (column[at.i + 1] - column[at.i]) / GRID_STEP_S);
    residuals[k] = speedMps[row] - first - weights.reduce((sum, weight, j) => sum + weight * value[j], 0);
    derivatives[0][k] = -weights.reduce((sum, weight, j) => sum + weight * slope[j], 0);
    derivatives[1][k] = value[0];
    derivatives[2][k] = -value[1];
    derivatives[3][k] = -value[2];
    derivatives[4][k] = -value[3];
    derivatives[5][k] = value[4];
  });
  return { residuals, derivatives, stretches };
}
