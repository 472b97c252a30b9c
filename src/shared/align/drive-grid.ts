/**
 * A recording's wheel spin, torque and undriven wheels on one even grid, with the stretches marked that are gentle
 * enough to calibrate on. Unknown stays NaN; a stretch without frames is never bridged beyond 0.3 s.
 */
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedRecording, TimedColumn } from "./aligned-recording.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";

export const GRID_STEP_S = 0.02;

/** Below this a relative error says little and receivers hold or smooth their speed. */
const LEAST_SPEED_MPS = 4;
const MOST_ACCELERATION_MPS2 = 2.5;
/** Share of the car's weight as driving force up to which slip is close to linear in force. */
const MOST_FORCE_SHARE = 0.25;
/** Deceleration that motor, drag and rolling cannot explain: brakes (or a slope of 7 %). */
const UNEXPLAINED_MPS2 = -0.7;
const LONGEST_HOLD_S = 0.3;
/** A receiver reports the past: all of it must have been gentle. */
const SETTLE_BEFORE_S = 0.4;
const SETTLE_AFTER_S = 0.1;

export interface DriveGrid {
  readonly startS: number;
  readonly count: number;
  /** Driven wheel, rad/s. */
  readonly spin: Float64Array;
  /** Motor torque that reached the road: delivered less what spun the axle up, Nm at the motor. */
  readonly torqueNm: Float64Array;
  /** Undriven and driven sensors in their own units; a 0 is unknown. */
  readonly undriven: readonly Float64Array[];
  readonly driven: readonly Float64Array[];
  /** 1 where calibration may look. */
  readonly gentle: Uint8Array;
}

/** Builds the grid; `radiusM` need only be near. Null where motor speed or delivered torque never came. */
export function buildDriveGrid(recording: AlignedRecording, setUp: SetUp, radiusM: number): DriveGrid | null {
  const { motorSpeed, torqueDelivered, brake, undrivenWheelSpeeds = [], drivenWheelSpeeds = [] } = recording.roles;
  if (motorSpeed === undefined || torqueDelivered === undefined || motorSpeed.tS.length < 2 || torqueDelivered.tS.length < 2) return null;
  const { gearRatio, massKg, wheelInertiaKgM2 = 0, dragAreaM2 = 0.65 } = setUp.car;
  const startS = motorSpeed.tS[0];
  const count = Math.max(1, Math.floor((motorSpeed.tS[motorSpeed.tS.length - 1] - startS) / GRID_STEP_S));
  const spin = resample(motorSpeed, startS, count);
  for (let i = 0; i < count; i++) spin[i] /= gearRatio;
  const torqueNm = resample(torqueDelivered, startS, count);
  const braking = brake === undefined ? null : resample(brake, startS, count);
  const brakeOn = braking === null ? Infinity : brakeThreshold(braking);
  const calm = new Uint8Array(count);
  const reach = Math.round(0.1 / GRID_STEP_S);
  const airFactor = 0.5 * 1.2 * dragAreaM2;
  for (let i = reach; i < count - reach; i++) {
    const spinRate = (spin[i + reach] - spin[i - reach]) / (2 * reach * GRID_STEP_S);
    const acceleration = spinRate * radiusM;
    torqueNm[i] -= (wheelInertiaKgM2 * spinRate) / gearRatio;
    const forceN = (torqueNm[i] * gearRatio) / radiusM;
    const speed = spin[i] * radiusM;
    const expected = (forceN - airFactor * speed * speed) / massKg - 0.012 * STANDARD_GRAVITY_MPS2;
    const ok =
      speed > LEAST_SPEED_MPS &&
      Math.abs(acceleration) < MOST_ACCELERATION_MPS2 &&
      Math.abs(forceN) < MOST_FORCE_SHARE * massKg * STANDARD_GRAVITY_MPS2 &&
      acceleration - expected > UNEXPLAINED_MPS2 &&
      !(braking !== null && braking[i] > brakeOn);
    calm[i] = ok ? 1 : 0;
  }
  return {
    startS,
    count,
    spin,
    torqueNm,
    undriven: undrivenWheelSpeeds.map((column) => resample(column, startS, count, true)),
    driven: drivenWheelSpeeds.map((column) => resample(column, startS, count, true)),
    gentle: settle(calm),
  };
}

/** Value at a time by straight line between grid points; NaN outside. */
export function atTime(grid: DriveGrid, column: Float64Array, tS: number): number {
  const place = (tS - grid.startS) / GRID_STEP_S;
  const i = Math.floor(place);
  if (!(i >= 0 && i + 1 < grid.count)) return Number.NaN;
  const share = place - i;
  return column[i] * (1 - share) + column[i + 1] * share;
}

/** Whether calibration may look at a time. */
export function isGentle(grid: DriveGrid, tS: number): boolean {
  const i = Math.round((tS - grid.startS) / GRID_STEP_S);
  return i >= 0 && i < grid.count && grid.gentle[i] === 1;
}

function settle(calm: Uint8Array): Uint8Array {
  const before = Math.round(SETTLE_BEFORE_S / GRID_STEP_S);
  const after = Math.round(SETTLE_AFTER_S / GRID_STEP_S);
  const gentle = new Uint8Array(calm.length);
  let lastRough = -1;
  for (let i = 0; i < calm.length; i++) {
    if (calm[i] === 0) lastRough = i;
    const centre = i - after;
    if (centre >= 0 && lastRough < centre - before) gentle[centre] = 1;
  }
  return gentle;
}

function brakeThreshold(brake: Float64Array): number {
  let least = Infinity;
  let most = -Infinity;
  for (const value of brake) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  // A twentieth of the range clears the noise of a pressure sensor and leaves a switch as it is.
  return most > least ? least + (most - least) / 20 : Infinity;
}

function resample(column: TimedColumn, startS: number, count: number, zeroIsUnknown = false): Float64Array {
  const out = new Float64Array(count).fill(Number.NaN);
  const { tS, value } = column;
  let j = 0;
  for (let i = 0; i < count; i++) {
    const t = startS + i * GRID_STEP_S;
    while (j + 1 < tS.length && tS[j + 1] <= t) j += 1;
    if (j + 1 >= tS.length || tS[j] > t || tS[j + 1] - tS[j] > LONGEST_HOLD_S) continue;
    const [a, b] = [value[j], value[j + 1]];
    if (zeroIsUnknown && (a === 0 || b === 0)) continue;
    out[i] = a + ((b - a) * (t - tS[j])) / (tS[j + 1] - tS[j]);
  }
  return out;
}
