/**
 * The least time that a car's tyre, torque and power allow: at each speed the tyre at its best slip with the load that the acceleration itself
 * throws on the driven axle, or full torque or power less inertia and resistance, whichever is less. A speed that the car cannot reach gives
 * Infinity; a car whose full torque is unknown throws RangeError.
 */
import { drivenLoadN, type FittedCar, fullTorqueAt, resistanceN } from "./fitted-car.ts";

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
/** Slip at the motor's limit changes its own force little: each pass takes off nine tenths of what is left. */
const PASSES = 4;
const HALVINGS = 24;

/** Full torque at the shaft while the driven wheels turn at this speed, Nm; NaN where the runs never showed it. */
export function fullTorqueAtWheel(car: FittedCar, wheelMps: number): number {
  return fullTorqueAt(car, (wheelMps * car.gearRatio) / car.rollingRadiusM.value) ?? Number.NaN;
}

/** The slip at which this friction is used; null where the tyre cannot give it. */
function slipFor({ frictionAt, bestSlip, peakFriction }: TyreLimit, friction: number): number | null {
  if (friction >= peakFriction) return null;
  let [low, high] = [0, bestSlip];
  for (let i = 0; i < HALVINGS; i += 1) {
    const middle = (low + high) / 2;
    if (frictionAt(middle) < friction) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function pushAt(car: FittedCar, tyre: TyreLimit, speedMps: number): Push {
  const massKg = car.massKg.value;
  const resistN = resistanceN(car, speedMps);
  // Load grows with acceleration: past this the front wheels would lift, and no tyre limits the car.
  const room = massKg - tyre.peakFriction * car.load.perMps2;
  const byTyre = room > 0 ? (tyre.peakFriction * car.load.staticN - resistN) / room : Number.POSITIVE_INFINITY;
  let slip = 0;
  let byMotor = 0;
  for (let pass = 0; pass < PASSES; pass += 1) {
    const forceN = fullTorqueAtWheel(car, speedMps * (1 + slip)) * car.newtonPerNm.value;
    byMotor = (forceN - resistN) / (massKg + (car.axleInertiaKgM2.value * (1 + slip)) / car.rollingRadiusM.value ** 2);
    const needed = slipFor(tyre, (massKg * byMotor + resistN) / drivenLoadN(car.load, byMotor));
    if (needed === null) return { mps2: byTyre, limit: "tyre" };
    slip = needed;
  }
  return byTyre < byMotor ? { mps2: byTyre, limit: "tyre" } : { mps2: byMotor, limit: "motor" };
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
