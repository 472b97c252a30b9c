/**
 * The least time that a car's tyre, torque and power allow: at each speed the tyre at its best slip with the load that the acceleration itself
 * throws on the driven axle, or full torque or power less inertia and resistance, whichever is less. A speed that the car cannot reach gives
 * Infinity; a car whose full torque is unknown throws RangeError.
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
  /** Most that the car can accelerate at this speed. */
  at(speedMps: number): Push;
  /** Least time from standing to this speed, s. Its differences add up without a remainder. */
  timeS(speedMps: number): number;
}

const STEP_MPS = 0.1;
/** Slip to a millionth of the best. */
const HALVINGS = 20;

/** Full torque at the shaft while the driven wheels turn at this speed, Nm; NaN where the runs never showed it. */
export function fullTorqueAtWheel(car: FittedCar, wheelMps: number): number {
  return fullTorqueAt(car, (wheelMps * car.gearRatio) / car.rollingRadiusM.value) ?? Number.NaN;
}

/** What the tyre gives at a slip, with the load that the acceleration itself throws on it. */
function tyreMps2({ massKg, load }: FittedCar, friction: number, resistN: number): number {
  // Load grows with acceleration: past this the front wheels would lift, and no tyre limits the car.
  const room = massKg.value - friction * load.perMps2;
  return room > 0 ? (friction * load.staticN - resistN) / room : Number.POSITIVE_INFINITY;
}

/** What the motor gives while the wheels slip so much: power falls short at the speed that they turn, not at the ground's. */
function motorMps2(car: FittedCar, speedMps: number, slip: number, resistN: number): number {
  const forceN = fullTorqueAtWheel(car, speedMps * (1 + slip)) * car.newtonPerNm.value;
  return (forceN - resistN) / (car.massKg.value + (car.axleInertiaKgM2.value * (1 + slip)) / car.rollingRadiusM.value ** 2);
}

function pushAt(car: FittedCar, { frictionAt, bestSlip, peakFriction }: TyreLimit, speedMps: number): Push {
  const resistN = resistanceN(car, speedMps);
  const byTyre = tyreMps2(car, peakFriction, resistN);
  if (motorMps2(car, speedMps, bestSlip, resistN) >= byTyre) return { mps2: byTyre, limit: "tyre" };
  // With more slip the tyre gives more and the motor less: the quickest launch is where they meet.
  let [low, high] = [0, bestSlip];
  for (let i = 0; i < HALVINGS; i += 1) {
    const middle = (low + high) / 2;
    if (tyreMps2(car, frictionAt(middle), resistN) < motorMps2(car, speedMps, middle, resistN)) low = middle;
    else high = middle;
  }
  return { mps2: motorMps2(car, speedMps, (low + high) / 2, resistN), limit: "motor" };
}

/** Prepared up to `topMps`; asked for more it goes on from there. */
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
