/**
 * A launch as friction used against slip, one row each 10 ms above 10 km/h: longitudinal force from the car's motion over the load on the
 * driven axle, each with its standard deviation. Rows that cannot be trusted are left out and counted; a run without slip gives none.
 */
import { type FittedCar, drivenLoadN, resistanceN } from "./fitted-car.ts";
import { gearChangedAt } from "./gear-change.ts";
import type { TuneRun } from "./tune-run.ts";
import { saidSpeed } from "../kernel/shown-units.ts";

export interface FrictionRows {
  readonly run: number;
  readonly slip: Float64Array;
  readonly slipSigma: Float64Array;
  readonly friction: Float64Array;
  readonly frictionSigma: Float64Array;
  /** Sentences on what was left out; empty where nothing was. */
  readonly notes: readonly string[];
}

/** What the calculation of force and load needs to know of a car. */
export type ForceCar = Pick<FittedCar, "massKg" | "dragAreaM2" | "rollingResistance" | "load">;

const SLOPE_STEP = 2;
const STEP_S = 0.01;
/**
 * A tyre's force follows its slip over this rolling distance, m, and a body pitches in this time, s. Neither is known for the car, so rows
 * with fast changes get a larger uncertainty.
 */
const RELAXATION_M = 0.3;
const PITCH_S = 0.05;
/** Wheel speed and torque on the bus are uncertain in time by a few milliseconds. */
const TIMING_S = 0.003;
/** Without torque, acceleration comes from a smooth curve through the speeds; faster changes are smoothed over this time. */
const SMEARED_S = 0.15;
const LEAST_ACCELERATION_SIGMA_MPS2 = 0.02;

/** The rows of a run's launch. */
export function frictionRows(run: TuneRun, car: ForceCar): FrictionRows {
  const { samples } = run;
  const { slipRatio, slipSigma, accelerationMps2, groundSpeedMps } = samples;
  const shift = gearChangedAt(run);
  const notes: string[] = [];
  if (shift !== null) {
    notes.push(
      `Run ${run.id}: from ${saidSpeed(groundSpeedMps[shift])} on the motor turns slower than the road while it drives: another gear is in, only what came before is used`,
    );
  }
  const slip: number[] = [];
  const sigma: number[] = [];
  const friction: number[] = [];
  const frictionSigma: number[] = [];
  const last = shift ?? run.endIndex;
  const lateS = TIMING_S + (samples.deliveredNm === null ? SMEARED_S : 0);
  const perSecond = (column: Float64Array, i: number) => (column[i + SLOPE_STEP] - column[i - SLOPE_STEP]) / (2 * SLOPE_STEP * STEP_S);
  for (let i = run.startIndex + SLOPE_STEP; i < last - SLOPE_STEP; i += 1) {
    const a = accelerationMps2[i];
    const v = groundSpeedMps[i];
    const slipPerS = perSecond(slipRatio, i);
    const jerk = perSecond(accelerationMps2, i);
    if (!(Number.isFinite(slipRatio[i]) && Number.isFinite(a) && Number.isFinite(slipPerS) && Number.isFinite(jerk))) continue;
    const loadN = drivenLoadN(car.load, a);
    if (!(loadN > 0.1 * car.load.staticN)) continue;
    const used = (car.massKg.value * a + resistanceN(car, v)) / loadN;
    const loadSigma = (car.load.perMps2 * jerk * PITCH_S) / loadN;
    const forceSigma = (car.massKg.value * Math.hypot(LEAST_ACCELERATION_SIGMA_MPS2, jerk * lateS)) / loadN;
    slip.push(slipRatio[i]);
    sigma.push(Math.hypot(slipSigma[i] || 0, slipPerS * (RELAXATION_M / v + lateS)));
    friction.push(used);
    frictionSigma.push(Math.hypot(forceSigma, used * loadSigma));
  }
  return {
    run: run.id,
    slip: Float64Array.from(slip),
    slipSigma: Float64Array.from(sigma),
    friction: Float64Array.from(friction),
    frictionSigma: Float64Array.from(frictionSigma),
    notes,
  };
}
