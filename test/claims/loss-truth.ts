/**
 * True quickest time and losses of a launch, computed independently from the definitions in docs/design.md: every slip up to the best is
 * tried at every speed, and the true course is followed millisecond by millisecond. A launch that never reached the speed gives null.
 */
import { LOSS_CAUSES, type LossCause } from "../../src/shared/tune/losses.ts";
import type { TrueForces, TuneDay } from "./tune-day.ts";

const G = 9.80665;
const START_MPS = 0.5 / 3.6;
const STEP_S = 0.001;
const SLIP_STEP = 0.0005;
const SPEED_STEP_MPS = 0.05;
/** DESIGN: over 1.15 times best slip is spin; over 2 % held back; under 97 % asked late. */
const [SPIN, HELD, ASKED] = [1.15, 0.02, 0.97];
/** The launch begins within this before the run's own start, and ends within this after it. */
const [BEFORE_S, AFTER_S] = [0.5, 30];

export interface TrueLosses {
  readonly seconds: number;
  readonly quickest: number;
  readonly losses: Readonly<Record<LossCause, number>>;
}

const fullNm = (car: TrueForces, wheelMps: number) =>
  Math.min(car.maxTorqueNm, car.maxPowerW / Math.max(1, (wheelMps * car.gearRatio) / car.rollingRadiusM));

/** Most acceleration at a speed: the best of all slips up to the tyre's best whose torque the motor has. */
function mostMps2(car: TrueForces, launch: number, speedMps: number, bestSlip: number): number {
  const { massKg, rollingRadiusM: R } = car;
  const resistN = 0.5 * car.airDensityKgM3 * car.dragAreaM2 * speedMps ** 2 + car.rollingResistance * massKg * G;
  let most = Number.NEGATIVE_INFINITY;
  for (let slip = 0; slip <= bestSlip + 1e-9; slip += SLIP_STEP) {
    const mu = car.frictionAt(slip, launch);
    const a = (mu * massKg * G * car.rearWeightShare - resistN) / (massKg * (1 - mu * car.cgOverBase));
    const forceN = massKg * a + resistN;
    const axleNm = forceN * R + (car.axleInertiaKgM2 * a * (1 + slip)) / R;
    const motorNm = axleNm / (car.gearRatio * car.gearEfficiency) + car.motorDragNm;
    if (motorNm <= fullNm(car, speedMps * (1 + slip))) most = Math.max(most, a);
  }
  return most;
}

/** Least time from standing to each step of speed. */
function leastTimes(car: TrueForces, launch: number, bestSlip: number, topMps: number): Float64Array {
  const times = new Float64Array(Math.ceil(topMps / SPEED_STEP_MPS) + 2);
  for (let i = 1; i < times.length; i += 1)
    times[i] = times[i - 1] + SPEED_STEP_MPS / mostMps2(car, launch, (i - 0.5) * SPEED_STEP_MPS, bestSlip);
  return times;
}

/** Launch `launch` of the day up to `topMps`, from movement. */
export function trueLosses({ forces, trueAt, truth, runs }: TuneDay, launch: number, topMps: number): TrueLosses | null {
  const times = leastTimes(forces, launch, truth.bestSlip, topMps);
  const least = (speedMps: number) => {
    const place = Math.max(0, speedMps) / SPEED_STEP_MPS;
    const i = Math.min(times.length - 2, Math.floor(place));
    return times[i] + (place - i) * (times[i + 1] - times[i]);
  };
  const losses = Object.fromEntries(LOSS_CAUSES.map((cause) => [cause, 0])) as Record<LossCause, number>;
  const from = runs[launch].movementS - BEFORE_S;
  let [startS, before, beforeS] = [Number.NaN, START_MPS, Number.NaN];
  for (let step = 1; step * STEP_S < AFTER_S; step += 1) {
    const tS = from + step * STEP_S;
    const now = trueAt(tS);
    if (now.speedMps < START_MPS) {
      // The last rise through 0.5 km/h is the start.
      for (const cause of LOSS_CAUSES) losses[cause] = 0;
      startS = Number.NaN;
      continue;
    }
    if (Number.isNaN(startS)) {
      const earlier = trueAt(tS - STEP_S).speedMps;
      startS = tS - (STEP_S * (now.speedMps - START_MPS)) / (now.speedMps - earlier);
      [before, beforeS] = [START_MPS, startS];
    }
    const ends = now.speedMps >= topMps;
    const endS = ends ? beforeS + ((topMps - before) / (now.speedMps - before)) * (tS - beforeS) : tS;
    const speed = ends ? topMps : now.speedMps;
    const full = fullNm(forces, now.speedMps + now.slipMps);
    const cause: LossCause =
      now.slipMps > SPIN * truth.bestSlip * now.speedMps
        ? "spin"
        : now.askedNm - now.deliveredNm > HELD * full
          ? "heldBack"
          : now.askedNm < ASKED * full
            ? "askedLate"
            : "rest";
    losses[cause] += endS - beforeS - (least(speed) - least(before));
    if (ends) return { seconds: endS - startS, quickest: least(topMps) - least(START_MPS), losses };
    [before, beforeS] = [speed, tS];
  }
  return null;
}
