/**
 * A recording's wheel spin, torque and undriven wheels on one even grid. Marks the stretches that are gentle enough for calibration.
 * Unknown stays NaN; a stretch without frames is not bridged beyond 0.3 s.
 */

import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import type { SetUp } from "../setup/set-up.ts";
import type { AlignedRecording, TimedColumn } from "./aligned-recording.ts";

export const GRID_STEP_S = 0.02;

/** Below this receivers hold or smooth their speed. Above it slow driving separates delay from slip best. */
const LEAST_SPEED_MPS = 1.5;
const MOST_ACCELERATION_MPS2 = 2;
/** Driving force, as a share of the car's weight, up to which slip is nearly linear in force. */
const MOST_FORCE_SHARE = 0.2;
/** A deceleration that motor, drag and rolling cannot explain: brakes, or a slope of 7 %. */
const UNEXPLAINED_MPS2 = -0.7;
/**
 * The same where torque is unknown. What slows the car by this much more than coasting may be motor or brakes. Under 0.3 m/s2 of braking a
 * free tyre slips a fifth of a per cent (stiffness 18 a load, 65 % of it in front; from memory).
 */
const UNEXPLAINED_COASTING_MPS2 = -0.3;
/** Up to this acceleration free-rolling wheels show the car's speed, in a launch too. */
const MOST_ROLLING_MPS2 = 12;
/**
 * Greatest change of acceleration within 0.2 s that still counts as smooth. A jolt twists the driveline: it reaches the road later than the
 * torque signal, and a receiver that filters shows it in a shape that no plain delay explains.
 */
const MOST_JOLT_MPS2 = 1;
const MOST_ROLLING_JOLT_MPS2 = 1.2;
/**
 * Inertia of axle and rotor at the wheels where the set-up gives none, kg m2 (from memory: 2 for wheels and tyres, 4 for a rotor geared 9).
 */
export const AXLE_KGM2 = 6;
/**
 * Share of the power that a reduction gear passes on, 0.97 to 1 (from memory). While braking, the wheels carry more than the motor shows.
 */
const GEAR_EFFICIENCY = 0.985;
const LONGEST_HOLD_S = 0.3;
/** A receiver reports the past, so this much before an epoch must have been gentle too. */
const SETTLE_BEFORE_S = 0.4;
const SETTLE_AFTER_S = 0.1;

export interface DriveGrid {
  readonly startS: number;
  readonly count: number;
  /** Which sources the recording has. */
  readonly known: { readonly motorSpeed: boolean; readonly torque: boolean };
  /** Driven wheel, rad/s. */
  readonly spin: Float64Array;
  /**
   * Motor torque that reached the road: delivered torque less what accelerates the axle's inertia, Nm at the motor while driving (while
   * braking, the gear's loss is added).
   */
  readonly torqueNm: Float64Array;
  /** The same, scaled to the torque that would give this slip at the axle's load at rest (load moves with acceleration). */
  readonly slipTorqueNm: Float64Array;
  /** Amount of the driving force over the axle's load. */
  readonly loadShare: Float64Array;
  /** Rate of change of the torque at the wheels, Nm/s. It twists the shafts. */
  readonly twistNmps: Float64Array;
  /** Undriven and driven sensors in their own units; a 0 is unknown. */
  readonly undriven: readonly Float64Array[];
  readonly driven: readonly Float64Array[];
  /** 1 where wheels may be used: driven ones up to linear slip. */
  readonly gentle: Uint8Array;
  /**
   * Acceleration expected from motor, drag and rolling alone, m/s2 (coasting where torque is unknown). What is missing is brakes or a hill.
   */
  readonly expectedMps2: Float64Array;
  /** Least acceleration beyond the expected one; below it counts as braking. */
  readonly leastUnexplainedMps2: number;
  /** 1 where a brake signal shows braking. */
  readonly braked: Uint8Array;
}

/** Scales that the grid is built with besides the recording; both need only be approximate. */
export interface GridScales {
  readonly radiusM: number;
  /** Metres per second per unit of the first undriven sensor. */
  readonly undriven: number;
}

/**
 * Builds the grid. Without motor speed, spin and what follows from it stay NaN, and speed comes from the undriven wheels. Without delivered
 * torque, a deceleration is used only where it cannot be the brakes. Null where there are neither wheels nor motor speed nor torque.
 */
export function buildDriveGrid(recording: AlignedRecording, setUp: SetUp, scales: GridScales): DriveGrid | null {
  const { motorSpeed, torqueDelivered, brake, undrivenWheelSpeeds = [], drivenWheelSpeeds = [] } = recording.roles;
  const heard = (column: TimedColumn | undefined): column is TimedColumn => column !== undefined && column.tS.length > 1;
  const leading = [motorSpeed, ...undrivenWheelSpeeds, torqueDelivered].find(heard);
  if (leading === undefined) return null;
  const { gearRatio, massKg, wheelInertiaKgM2 = AXLE_KGM2, dragAreaM2 = 0.65 } = setUp.car;
  const { radiusM } = scales;
  const startS = leading.tS[0];
  const count = Math.max(1, Math.floor((leading.tS[leading.tS.length - 1] - startS) / GRID_STEP_S));
  const unknown = () => new Float64Array(count).fill(Number.NaN);
  const undriven = undrivenWheelSpeeds.map((column) => smooth(resample(column, startS, count, true)));
  const spin = heard(motorSpeed) ? smooth(resample(motorSpeed, startS, count)).map((value) => value / gearRatio) : unknown();
  const turning = heard(motorSpeed) || undriven.length === 0 ? spin : undriven[0].map((value) => (value * scales.undriven) / radiusM);
  const delivered = heard(torqueDelivered) ? resample(torqueDelivered, startS, count) : null;
  const torqueNm = delivered === null ? unknown() : smooth(delivered.map((nm) => (nm < 0 ? nm / GEAR_EFFICIENCY ** 2 : nm)));
  const braking = brake === undefined ? null : resample(brake, startS, count);
  const brakeOn = braking === null ? Infinity : brakeThreshold(braking);
  const calm = new Uint8Array(count);
  const braked = new Uint8Array(count);
  const expectedMps2 = unknown();
  const slipTorqueNm = unknown();
  const loadShare = unknown();
  const axleLoadN = massKg * STANDARD_GRAVITY_MPS2 * drivenShare(setUp);
  const airFactor = 0.5 * 1.2 * dragAreaM2;
  const gain = loadGain(setUp);
  // With a brake signal and without torque, only the motor can have caused what coasting does not explain.
  const leastUnexplainedMps2 =
    delivered !== null ? UNEXPLAINED_MPS2 : braking !== null ? Number.NEGATIVE_INFINITY : UNEXPLAINED_COASTING_MPS2;
  for (let i = 0; i < count; i++) {
    const spinRate = slopeAt(turning, i);
    const acceleration = spinRate * radiusM;
    torqueNm[i] -= (wheelInertiaKgM2 * spinRate) / gearRatio;
    const forceN = delivered === null ? 0 : (torqueNm[i] * gearRatio) / radiusM;
    const speed = turning[i] * radiusM;
    slipTorqueNm[i] = torqueNm[i] / (1 + gain * Math.max(-3, Math.min(3, acceleration)));
    loadShare[i] = (Math.abs(slipTorqueNm[i]) * gearRatio) / (radiusM * axleLoadN);
    expectedMps2[i] = (forceN - airFactor * speed * speed) / massKg - 0.012 * STANDARD_GRAVITY_MPS2;
    braked[i] = braking !== null && braking[i] > brakeOn ? 1 : 0;
    const ok =
      speed > LEAST_SPEED_MPS &&
      Math.abs(acceleration) < MOST_ACCELERATION_MPS2 &&
      (delivered === null || rangeNear(delivered, i) * (gearRatio / (radiusM * massKg)) < MOST_JOLT_MPS2) &&
      Math.abs(forceN) < MOST_FORCE_SHARE * massKg * STANDARD_GRAVITY_MPS2 &&
      acceleration - expectedMps2[i] > leastUnexplainedMps2 &&
      braked[i] === 0;
    calm[i] = ok ? 1 : 0;
  }
  return {
    startS,
    count,
    known: { motorSpeed: heard(motorSpeed), torque: delivered !== null },
    spin,
    torqueNm,
    slipTorqueNm,
    loadShare,
    twistNmps: torqueNm.map((_, i) => gearRatio * slopeAt(torqueNm, i)),
    undriven,
    driven: drivenWheelSpeeds.map((column) => smooth(resample(column, startS, count, true))),
    gentle: settle(calm),
    expectedMps2,
    leastUnexplainedMps2,
    braked,
  };
}

/** 1 where undriven wheels (in m/s) roll freely: no braking, by the brake signal or by what motor, drag and rolling do not explain. */
export function freelyRolling(grid: DriveGrid, undrivenMps: Float64Array): Uint8Array {
  const calm = new Uint8Array(grid.count);
  const slope = undrivenMps.map((_, i) => slopeAt(undrivenMps, i));
  for (let i = 0; i < grid.count; i++) {
    const acceleration = slope[i];
    const ok =
      undrivenMps[i] > LEAST_SPEED_MPS &&
      acceleration < MOST_ROLLING_MPS2 &&
      acceleration > -MOST_ACCELERATION_MPS2 &&
      rangeNear(slope, i) < MOST_ROLLING_JOLT_MPS2 &&
      acceleration - grid.expectedMps2[i] > grid.leastUnexplainedMps2 &&
      grid.braked[i] === 0;
    calm[i] = ok ? 1 : 0;
  }
  return settle(calm);
}

/** Rate of change of a grid column over 0.2 s; NaN near a hole. */
export function slopeAt(column: Float64Array, i: number): number {
  const reach = Math.round(0.1 / GRID_STEP_S);
  if (i < reach || i + reach >= column.length) return Number.NaN;
  return (column[i + reach] - column[i - reach]) / (2 * reach * GRID_STEP_S);
}

/** Greatest less least within 0.1 s either way; NaN near a hole. */
function rangeNear(column: Float64Array, i: number): number {
  const reach = Math.round(0.1 / GRID_STEP_S);
  if (i < reach || i + reach >= column.length) return Number.NaN;
  let [least, most] = [column[i], column[i]];
  for (let k = i - reach; k <= i + reach; k++) {
    if (Number.isNaN(column[k])) return Number.NaN;
    least = Math.min(least, column[k]);
    most = Math.max(most, column[k]);
  }
  return most - least;
}

/** Share by which the driven axle's load grows per m/s2 of acceleration; 0 where the set-up does not give the geometry. */
function loadGain(setUp: SetUp): number {
  const { wheelbaseM, cgHeightM, drivenAxle } = setUp.car;
  if (wheelbaseM === undefined || cgHeightM === undefined) return 0;
  const moved = cgHeightM / wheelbaseM / STANDARD_GRAVITY_MPS2 / drivenShare(setUp);
  return drivenAxle === "rear" ? moved : -moved;
}

function drivenShare(setUp: SetUp): number {
  const { frontWeightShare = 0.5, drivenAxle } = setUp.car;
  return drivenAxle === "rear" ? 1 - frontWeightShare : frontWeightShare;
}

/** Value at a time, by a straight line between grid points; NaN outside. */
export function atTime(grid: DriveGrid, column: Float64Array, tS: number): number {
  const place = (tS - grid.startS) / GRID_STEP_S;
  const i = Math.floor(place);
  if (!(i >= 0 && i + 1 < grid.count)) return Number.NaN;
  const share = place - i;
  return column[i] * (1 - share) + column[i + 1] * share;
}

/** Whether a mask of the grid is 1 at a time. */
export function isMarked(grid: DriveGrid, mask: Uint8Array, tS: number): boolean {
  const i = Math.round((tS - grid.startS) / GRID_STEP_S);
  return i >= 0 && i < grid.count && mask[i] === 1;
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

/**
 * A running mean of 0.1 s, applied twice. Sensor noise in a fitted column would count as information. Symmetric smoothing removes it and
 * shifts nothing in time.
 */
export function smooth(column: Float64Array): Float64Array {
  let from = column;
  for (let pass = 0; pass < 2; pass++) {
    const to = new Float64Array(from.length).fill(Number.NaN);
    for (let i = 2; i + 2 < from.length; i++) to[i] = (from[i - 2] + from[i - 1] + from[i] + from[i + 1] + from[i + 2]) / 5;
    from = to;
  }
  return from;
}

/** Least reading of a brake signal that counts as braking; Infinity where it never moves. */
export function brakeThreshold(brake: Float64Array): number {
  let least = Infinity;
  let most = -Infinity;
  for (const value of brake) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  // A twentieth of the range is above the noise of a pressure sensor and keeps a switch as it is.
  return most > least ? least + (most - least) / 20 : Infinity;
}

/** A column on an even grid of GRID_STEP_S by straight lines; NaN in holes longer than `longestHoldS`. */
export function resample(
  column: Pick<TimedColumn, "tS" | "value">,
  startS: number,
  count: number,
  zeroIsUnknown = false,
  longestHoldS = LONGEST_HOLD_S,
): Float64Array {
  const out = new Float64Array(count).fill(Number.NaN);
  const { tS, value } = column;
  let j = 0;
  for (let i = 0; i < count; i++) {
    const t = startS + i * GRID_STEP_S;
    while (j + 1 < tS.length && tS[j + 1] <= t) j += 1;
    if (j + 1 >= tS.length || tS[j] > t || tS[j + 1] - tS[j] > longestHoldS) continue;
    const [a, b] = [value[j], value[j + 1]];
    if (zeroIsUnknown && (a === 0 || b === 0)) continue;
    out[i] = a + ((b - a) * (t - tS[j])) / (tS[j + 1] - tS[j]);
  }
  return out;
}
