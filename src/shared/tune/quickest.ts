/**
 * The least time that a car's tyre, torque and power allow. At each speed the limit is the lesser of two: the tyre at its best slip, with
 * the load that the acceleration itself moves onto the driven axle; or full torque or power less inertia and resistance. A speed that the
 * car cannot reach gives Infinity; a car with unknown full torque throws RangeError.
 */
import { type FittedCar, fullTorqueAt, resistanceN } from "./fitted-car.ts";

/** The tyre up to its best slip. */
export interface TyreLimit {
  /** Friction used at a slip ratio from 0 to `bestSlip`, rising. */
  readonly frictionAt: (slip: number) => number;
  readonly bestSlip: number;
  readonly peakFriction: number;
}

interface Push {
  readonly mps2: number;
  readonly limit: "tyre" | "motor";
}

export interface Quickest {
  /** The greatest acceleration at this speed. */
  at(speedMps: number): Push;
  /** Least time from standing to this speed, s. Differences of it add up exactly. */
  timeS(speedMps: number): number;
}

const STEP_MPS = 0.1;
/** Slip is found to this share of the best slip; a handful of tries is enough where halving needs twenty. */
const SLIP_SHARE = 1e-7;
const MOST_TRIES = 60;

/** Full torque at the motor shaft while the driven wheels turn at this speed, Nm; NaN where no run showed it. */
export function fullTorqueAtWheel(car: FittedCar, wheelMps: number): number {
  return fullTorqueAt(car, (wheelMps * car.gearRatio) / car.rollingRadiusM.value) ?? Number.NaN;
}

/** Acceleration from the tyre at a slip, with the load that the acceleration itself moves onto the driven axle. */
function tyreMps2({ massKg, load }: FittedCar, friction: number, resistN: number): number {
  // Load grows with acceleration. Beyond this the front wheels would lift, and the tyre is not the limit.
  const room = massKg.value - friction * load.perMps2;
  return room > 0 ? (friction * load.staticN - resistN) / room : Number.POSITIVE_INFINITY;
}

/** Acceleration from the motor while the wheels slip this much: power limits at wheel speed, not at ground speed. */
function motorMps2(car: FittedCar, speedMps: number, slip: number, resistN: number): number {
  const forceN = fullTorqueAtWheel(car, speedMps * (1 + slip)) * car.newtonPerNm.value;
  return (forceN - resistN) / (car.massKg.value + (car.axleInertiaKgM2.value * (1 + slip)) / car.rollingRadiusM.value ** 2);
}

function pushAt(car: FittedCar, { frictionAt, bestSlip, peakFriction }: TyreLimit, speedMps: number): Push {
  const resistN = resistanceN(car, speedMps);
  const byTyre = tyreMps2(car, peakFriction, resistN);
  if (motorMps2(car, speedMps, bestSlip, resistN) >= byTyre) return { mps2: byTyre, limit: "tyre" };
  // With more slip the tyre gives more and the motor less: the quickest launch is where they are equal.
  const over = (slip: number) => tyreMps2(car, frictionAt(slip), resistN) - motorMps2(car, speedMps, slip, resistN);
  const slip = crossing(over, bestSlip);
  return { mps2: motorMps2(car, speedMps, slip, resistN), limit: "motor" };
}

/** Where a rising function passes 0 between 0 and `most`: false position with halved ends (Dowell and Jarratt 1971, the "Illinois" way). */
function crossing(over: (slip: number) => number, most: number): number {
  let [low, high, below, above] = [0, most, over(0), over(most)];
  let [before, side] = [0, 0];
  for (let i = 0; i < MOST_TRIES; i += 1) {
    const cut = high - (above * (high - low)) / (above - below);
    // A tyre that is no limit gives Infinity, and no line.
    const slip = cut > low && cut < high ? cut : (low + high) / 2;
    if (Math.abs(slip - before) < SLIP_SHARE * most) return slip;
    before = slip;
    const there = over(slip);
    if (there < 0) {
      [low, below] = [slip, there];
      if (side < 0) above /= 2;
      side = -1;
    } else {
      [high, above] = [slip, there];
      if (side > 0) below /= 2;
      side = 1;
    }
  }
  return before;
}

/** Prepared up to `topMps`; extended when asked for more. */
export function quickestOf(car: FittedCar, tyre: TyreLimit, topMps: number): Quickest {
  if (car.fullTorqueNm.value === null) throw new RangeError("Expected a car of known full torque, got one without");
  const slownessAt = (speedMps: number) => {
    const { mps2 } = pushAt(car, tyre, speedMps);
    return mps2 > 0 ? 1 / mps2 : Number.POSITIVE_INFINITY;
  };
  const times = [0];
  let slowness = slownessAt(0);
  const extend = (count: number) => {
    for (let i = times.length; i <= count; i += 1) {
      const next = slownessAt(i * STEP_MPS);
      times.push(times[i - 1] + 0.5 * (slowness + next) * STEP_MPS);
      slowness = next;
    }
  };
  extend(Math.ceil(topMps / STEP_MPS));
  return {
    at: (speedMps) => pushAt(car, tyre, speedMps),
    timeS(speedMps) {
      const place = Math.max(0, speedMps) / STEP_MPS;
      const i = Math.floor(place);
      extend(i + 1);
      const before = times[i];
      return place === i ? before : before + (place - i) * (times[i + 1] - before);
    },
  };
}
