/**
 * Checks from driving data whether a signal can play a role: motor and wheel speeds against ground speed, torque against acceleration. A
 * reversed sign or a wrong ratio is refused with the reason. Too little driving is said to be too little; nothing is guessed.
 */
import { saidSpeed } from "../kernel/shown-units.ts";
import type { ListRole, SingleRole } from "../setup/roles.ts";
import { SURVEY_STEP_S } from "./signal-survey.ts";
import { correlate, holdFilled, medianOfEnough, slopeOf } from "./trace-statistics.ts";

/** What is known of the car; the radius may be the nominal one. */
export interface CarFacts {
  readonly gearRatio: number;
  readonly rollingRadiusM: number;
  readonly massKg: number;
}

/** `reason` separates a refusal that nobody may overrule from a doubt. */
export type RoleCheck = {
  readonly verdict: "fits" | "refused" | "cannot tell yet";
  readonly why: string;
  readonly reason?: "reversed" | "ratio" | "swapped";
};

/** Nominal tyre radii are off by up to 3 %, wheel sensors by as much (from memory); a wrong ratio is off by far more. */
const RATIO_TOLERANCE = 0.08;
const LEAST_SPEED_MPS = 5;
const GENTLE_MPS2 = 2;
const FOLLOWS = 0.9;
const TORQUE_FOLLOWS = 0.4;
/** Mass, drag and slope are only roughly known; torque at the wheel instead of the motor is off by the gear ratio. */
const TORQUE_SCALE_TOLERANCE = 2;
/** Acceleration is the slope over a quarter second each way; over less, the receiver's noise is larger. */
const REACH = Math.round(0.25 / SURVEY_STEP_S);
/** At a steady speed only noise would decide the correlation. */
const LEAST_SPREAD_MPS = 5;
export const HOLD = Math.round(1 / SURVEY_STEP_S);

/** Forward acceleration on the survey's grid from ground speed, m/s2. */
export function accelerationOf(groundSpeedMps: ArrayLike<number>): Float64Array {
  return slopeOf(holdFilled(groundSpeedMps, HOLD), REACH, SURVEY_STEP_S);
}

/**
 * Checks values in the role's SI unit, inversion applied, against ground speed on the same grid (SURVEY_STEP_S).
 * `unit` is "m/s" or "rad/s" for wheel speeds.
 */
export function checkRole(
  role: SingleRole | ListRole,
  values: ArrayLike<number>,
  unit: string,
  groundSpeedMps: ArrayLike<number>,
  car: CarFacts,
): RoleCheck {
  const held = holdFilled(values, HOLD);
  switch (role) {
    case "motorSpeed":
      return checkSpeed(
        held,
        groundSpeedMps,
        car.rollingRadiusM / car.gearRatio,
        "motor speed x radius / gear ratio",
        `gear ratio ${car.gearRatio}`,
      );
    case "drivenWheelSpeeds":
    case "undrivenWheelSpeeds":
      return checkSpeed(
        held,
        groundSpeedMps,
        unit === "rad/s" ? car.rollingRadiusM : 1,
        unit === "rad/s" ? "wheel speed x radius" : "wheel speed",
        "the signal's factor",
      );
    case "torqueRequest":
    case "torqueCommand":
    case "torqueDelivered":
      return checkTorque(held, groundSpeedMps, car);
    case "pedal":
      return checkPedal(held, groundSpeedMps);
    default:
      return { verdict: "fits", why: "nothing in the drive speaks for or against it" };
  }
}

/** Values where the car neither accelerates nor brakes hard, NaN elsewhere. A driven wheel that spins says nothing about its ratio. */
export function whereGentle(values: Float64Array, acceleration: ArrayLike<number>): Float64Array {
  return values.map((value, i) => (Math.abs(acceleration[i]) > GENTLE_MPS2 ? Number.NaN : value));
}

function spreadOf(values: Float64Array): number {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of values) [least, most] = [Math.min(least, value), Math.max(most, value)];
  return most - least;
}

function checkSpeed(all: Float64Array, groundSpeedMps: ArrayLike<number>, scale: number, what: string, suspect: string): RoleCheck {
  const speed = holdFilled(groundSpeedMps, HOLD);
  const values = whereGentle(all, accelerationOf(groundSpeedMps));
  const moving = speed.map((v, i) => (v > LEAST_SPEED_MPS ? (values[i] * scale) / v : Number.NaN));
  const ratio = medianOfEnough(moving);
  const { r } = correlate(values, speed);
  if (Number.isNaN(ratio) || Number.isNaN(r))
    return {
      verdict: "cannot tell yet",
      why: `needs a few seconds of driving above ${saidSpeed(LEAST_SPEED_MPS)} with ground speed`,
    };
  if (r < -FOLLOWS && ratio < 0)
    return { verdict: "refused", why: "the sign is reversed: it falls when the car gains speed; invert it", reason: "reversed" };
  const heard = speed.filter((v, i) => !Number.isNaN(v) && !Number.isNaN(values[i]));
  if (r < FOLLOWS && Math.abs(ratio - 1) <= RATIO_TOLERANCE && spreadOf(heard) < LEAST_SPREAD_MPS)
    return { verdict: "cannot tell yet", why: "needs driving both slower and faster" };
  if (r < FOLLOWS) return { verdict: "refused", why: `it does not follow ground speed (correlation ${r.toFixed(2)})` };
  if (Math.abs(ratio - 1) > RATIO_TOLERANCE) {
    return {
      verdict: "refused",
      why: `${what} is ${ratio.toPrecision(3)} times ground speed; check ${suspect}, the radius and the unit, or choose another signal`,
      reason: "ratio",
    };
  }
  return { verdict: "fits", why: `${what} is ${ratio.toFixed(3)} times ground speed` };
}

function checkTorque(all: Float64Array, groundSpeedMps: ArrayLike<number>, car: CarFacts): RoleCheck {
  const acceleration = accelerationOf(groundSpeedMps);
  // While the brakes slow the car, the motor's torque does not explain it: a stop after a launch would look like a wrong ratio.
  const values = all.map((value, i) => (acceleration[i] < -GENTLE_MPS2 ? Number.NaN : value));
  const { r } = correlate(values, acceleration);
  if (Number.isNaN(r) || !acceleration.some((a) => a > 1))
    return { verdict: "cannot tell yet", why: "needs driving with acceleration above 1 m/s2" };
  if (r < -TORQUE_FOLLOWS)
    return {
      verdict: "refused",
      why: `the sign is reversed: it is negative when the car accelerates (correlation ${r.toFixed(2)}); invert it`,
      reason: "reversed",
    };
  if (r < TORQUE_FOLLOWS) return { verdict: "refused", why: `it does not follow acceleration (correlation ${r.toFixed(2)})` };
  const scale = torqueScale(values, acceleration, car);
  if (scale > TORQUE_SCALE_TOLERANCE || scale < 1 / TORQUE_SCALE_TOLERANCE) {
    return {
      verdict: "refused",
      why: `it is ${scale.toPrecision(2)} times the motor torque that the car's mass needs for this acceleration; is it torque at the wheels, or another unit?`,
      reason: "ratio",
    };
  }
  return {
    verdict: "fits",
    why: `it follows acceleration (correlation ${r.toFixed(2)}) at ${scale.toPrecision(2)} times the torque that mass alone needs`,
  };
}

/** Torque seen over the torque that mass x acceleration needs at the motor. */
export function torqueScale(values: ArrayLike<number>, acceleration: ArrayLike<number>, car: CarFacts): number {
  // The noisy acceleration is regressed on torque, not the reverse: its noise then does not bias the slope.
  return 1 / (correlate(values, acceleration).slope * ((car.massKg * car.rollingRadiusM) / car.gearRatio));
}

function checkPedal(values: Float64Array, groundSpeedMps: ArrayLike<number>): RoleCheck {
  const acceleration = accelerationOf(groundSpeedMps);
  const { r } = correlate(values, acceleration);
  if (values.some((value) => value < -5 || value > 110)) return { verdict: "refused", why: "it leaves 0 to 100 %" };
  if (Number.isNaN(r) || !acceleration.some((a) => a > 1))
    return { verdict: "cannot tell yet", why: "needs driving with acceleration above 1 m/s2" };
  if (r < 0) return { verdict: "refused", why: `it falls when the car accelerates (correlation ${r.toFixed(2)}): a brake, or reversed` };
  if (r < TORQUE_FOLLOWS / 2) return { verdict: "refused", why: `it does not follow acceleration (correlation ${r.toFixed(2)})` };
  return { verdict: "fits", why: `it follows acceleration (correlation ${r.toFixed(2)})` };
}
