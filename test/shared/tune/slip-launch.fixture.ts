/**
 * Launches in closed form: slip as the test sets it, force by a Magic Formula, load moved by the acceleration itself, torque by the
 * equation of motion.
 */
import type { CarSetUp } from "../../../src/shared/setup/set-up.ts";
import { frictionAt, type GripFormula } from "../../../src/shared/tune/grip-curve.ts";
import { type TuneRun, tuneRun } from "../../../src/shared/tune/tune-run.ts";
import { EXACT_CALIBRATION } from "../launch/exact-launch.ts";
import { randomSource } from "../launch/launch-generator.ts";

/** Every value of the set-up is true. */
export const CAR: CarSetUp = {
  name: "Odrel",
  massKg: 1480,
  drivenAxle: "rear",
  gearRatio: 9.04,
  rollingRadiusM: 0.324,
  wheelbaseM: 2.45,
  cgHeightM: 0.5,
  frontWeightShare: 0.444,
  wheelInertiaKgM2: 5.9,
  dragAreaM2: 0.62,
};
export const TRUE_ROLLING = 0.0115;
const FULL_NM = 420;
const FULL_W = 255e3;
const G = 9.80665;
const STEP_S = 0.01;
const START_S = 105;

export interface SlipLaunch {
  readonly id: number;
  readonly formula: GripFormula;
  /** Slip ratio at seconds since the start. */
  readonly slipAt: (tS: number) => number;
  readonly seconds?: number;
  /** As the car truly is. */
  readonly car?: CarSetUp;
  /** What its set-up file says; the same unless given. */
  readonly written?: CarSetUp;
  readonly surface?: string;
  /** White noise of the acceleration, m/s2. */
  readonly noiseMps2?: number;
  /** Multiplies the formula's friction. */
  readonly grip?: number;
  /** Reported torque over true torque. */
  readonly torqueReads?: number;
  readonly without?: readonly string[];
  readonly courseDeg?: number;
  /** Motor speed lost when a second gear is engaged at this time: its ratio over the first. */
  readonly secondGear?: { readonly fromS: number; readonly share: number };
}

/** Stands 1 s, then launches for `seconds` (6 unless said) at full pedal. */
export function slipLaunch(launch: SlipLaunch): TuneRun {
  const { id, formula, slipAt, seconds = 6, car = CAR, grip = 1, torqueReads = 1, noiseMps2 = 0, without = [] } = launch;
  const random = randomSource(1000 + id);
  const rows = Math.round((seconds + 2) / STEP_S);
  const make = () => new Float64Array(rows);
  const [tS, v, a, spin, torque, pedal] = Array.from({ length: 6 }, make);
  const front = car.frontWeightShare ?? 0.5;
  const staticN = car.massKg * G * (car.drivenAxle === "rear" ? 1 - front : front);
  const perMps2 = ((car.drivenAxle === "rear" ? 1 : -1) * car.massKg * (car.cgHeightM ?? 0)) / (car.wheelbaseM ?? 1);
  const radius = car.rollingRadiusM ?? 0.324;
  for (let i = 0; i < rows; i += 1) {
    const t = i * STEP_S - 1;
    tS[i] = START_S + t;
    const driven = t > 0 && t <= seconds;
    v[i] = i === 0 ? 0 : v[i - 1] + a[i - 1] * STEP_S;
    const friction = driven ? grip * frictionAt(formula, slipAt(t)) : 0;
    const resistN = v[i] > 0 ? 0.6 * (car.dragAreaM2 ?? 0) * v[i] ** 2 + TRUE_ROLLING * car.massKg * G : 0;
    a[i] = (friction * staticN - resistN) / (car.massKg - friction * perMps2);
    spin[i] = (v[i] * (1 + (driven ? slipAt(t) : 0))) / radius;
    pedal[i] = driven ? 100 : 0;
    const forceN = car.massKg * a[i] + resistN;
    torque[i] = forceN * radius;
  }
  for (let i = 1; i + 1 < rows; i += 1) torque[i] += ((car.wheelInertiaKgM2 ?? 0) * (spin[i + 1] - spin[i - 1])) / (2 * STEP_S);
  const geared = (i: number) =>
    launch.secondGear !== undefined && tS[i] - START_S > launch.secondGear.fromS ? launch.secondGear.share : 1;
  const motor = spin.map((radps, i) => radps * car.gearRatio * geared(i));
  const wheel = motor.map((radps) => (radps * radius) / car.gearRatio);
  const roles: Record<string, Float64Array> = {
    motorSpeed: motor,
    torqueDelivered: torque.map((nm) => (torqueReads * nm) / car.gearRatio),
    torqueRequest: motor.map((radps, i) => (pedal[i] / 100) * Math.min(FULL_NM, FULL_W / Math.max(1, radps))),
    pedal,
  };
  for (const role of without) delete roles[role];
  const movementS = START_S + 0.03;
  const noisy = a.map((value) => value + noiseMps2 * random.normal());
  return tuneRun({
    id,
    label: "",
    conditions: launch.surface === undefined ? {} : { surface: launch.surface },
    figures: {
      uid: `${id}`,
      movementS,
      movementPlusMinus95: 0.002,
      startedAtUtcMs: null,
      windowFromS: tS[0],
      windowToS: tS[rows - 1],
      courseDeg: launch.courseDeg ?? null,
      altitudeChangeM: null,
      gates: [],
      slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
      flags: [],
      measured: {},
    },
    samples: {
      tS,
      groundSpeedMps: v,
      groundSpeedSigmaMps: tS.map(() => 0.01),
      wheelSpeedMps: without.includes("motorSpeed") ? tS.map(() => Number.NaN) : wheel,
      slipSpeedMps: wheel.map((w, i) => w - v[i]),
      slipRatio: wheel.map((w, i) => (v[i] < 10 / 3.6 || without.includes("motorSpeed") ? Number.NaN : (w - v[i]) / v[i])),
      slipSigma: tS.map(() => 0.0005),
      distanceM: tS.map(() => 0),
      accelerationMps2: noisy,
      roles,
    },
    car: launch.written ?? car,
    calibrationId: 1,
    calibration: { ...EXACT_CALIBRATION, slipPerNm: { value: 1e-4, plusMinus95: 1e-4, from: "unknown" } },
  });
}

/** Slip that sweeps evenly from one value to another over the launch, and back where `back` says so. */
export const sweep =
  (from: number, to: number, seconds = 6) =>
  (tS: number) =>
    from + ((to - from) * tS) / seconds;
