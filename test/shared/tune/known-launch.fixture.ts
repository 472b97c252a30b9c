/** Launches and cars for the tests of tuning, with every figure chosen by the test: no drag, no inertia, straight stretches of speed. */
import type { RunSamples } from "../../../src/shared/run/run.ts";
import type { CarFigure } from "../../../src/shared/tune/figure.ts";
import type { FittedCar } from "../../../src/shared/tune/fitted-car.ts";
import type { GripCurve, GripFormula } from "../../../src/shared/tune/grip-curve.ts";
import { type TuneRun, tuneRun } from "../../../src/shared/tune/tune-run.ts";
import { EXACT_CALIBRATION } from "../launch/exact-launch.ts";

export const known = (value: number, plusMinus95 = 0) => ({ value, plusMinus95, from: "fitted" as const });
const unknown = (why: string): CarFigure => ({ value: null, plusMinus95: null, from: "fitted", why });

/** 1,500 kg, half its weight on the driven axle and no height: friction mu gives mu g / 2. One Nm at the motor is 30 N at the road. */
export function knownCar(change: Partial<FittedCar> = {}): FittedCar {
  return {
    massKg: known(1500),
    gearRatio: 9,
    rollingRadiusM: known(0.3),
    dragAreaM2: known(0),
    rollingResistance: known(0),
    axleInertiaKgM2: known(0),
    fullTorqueNm: known(400),
    fullPowerW: known(1e9),
    newtonPerNm: known(30),
    load: { staticN: (1500 * 9.80665) / 2, perMps2: 0, share95: 0 },
    torqueCheck: null,
    notes: [],
    ...change,
  };
}

export const withoutTorque = () => knownCar({ fullTorqueNm: unknown("No torque is mapped.") });

/** "Dry tarmac" of the published table that tyre-curve.test.ts names: best slip 0.1802, peak 1. */
const DRY: GripFormula = { B: 10, C: 1.9, D: 1, E: 0.97 };

export function knownCurve(change: Partial<GripCurve> = {}): GripCurve {
  return {
    surface: null,
    runs: [1],
    bestSlip: { value: 0.1802, plusMinus95: 0.005 },
    peakFriction: { value: 1, plusMinus95: 0.02 },
    why: null,
    largestSlip: 0.5,
    curve: [],
    formula: DRY,
    resampled: [],
    runGrip: [],
    notes: [],
    ...change,
  };
}

/** A stretch of even acceleration up to `toMps`, with what is asked and delivered meanwhile, and slip as a share of ground speed. */
export interface Stretch {
  readonly toMps: number;
  readonly mps2: number;
  readonly askedNm: number;
  readonly deliveredNm: number;
  readonly slip: number;
}

const START_MPS = 0.5 / 3.6;
const SIXTY_MPS = 60 * 0.44704;
const MOVEMENT_S = 105.004;

/** Seconds from movement to 60 mph over these stretches: calculated by hand, not by the product. */
export function secondsOf(stretches: readonly Stretch[]): number {
  let [from, sum] = [START_MPS, 0];
  for (const { toMps, mps2 } of stretches) {
    sum += (toMps - from) / mps2;
    from = toMps;
  }
  return sum;
}

/** What a test changes about a run besides its driving. */
export interface RunChange {
  readonly conditions?: Readonly<Record<string, string>>;
  readonly measured?: Readonly<Record<string, number>>;
  readonly flags?: TuneRun["flags"];
  readonly courseDeg?: number;
}

/** A stored run driven so; the last stretch must end at 60 mph. `without` leaves roles out. */
export function knownRun(id: number, stretches: readonly Stretch[], without: readonly string[] = [], change: RunChange = {}): TuneRun {
  const seconds = secondsOf(stretches);
  const tS = Float64Array.from({ length: 1500 }, (_, i) => 100 + i / 100);
  const at = (t: number): Stretch & { speedMps: number } => {
    let [from, startS] = [START_MPS, MOVEMENT_S];
    for (const stretch of stretches) {
      const endS = startS + (stretch.toMps - from) / stretch.mps2;
      if (t <= endS || stretch === stretches.at(-1)) return { ...stretch, speedMps: Math.max(0, from + (t - startS) * stretch.mps2) };
      [from, startS] = [stretch.toMps, endS];
    }
    throw new RangeError("Expected at least one stretch");
  };
  const column = (pick: (now: ReturnType<typeof at>) => number) => tS.map((t) => pick(at(t)));
  const roles: Record<string, Float64Array> = {
    torqueRequest: column((now) => now.askedNm),
    torqueDelivered: column((now) => now.deliveredNm),
    motorSpeed: column((now) => (now.speedMps * (1 + now.slip) * 9) / 0.3),
    pedal: tS.map((t) => (t < MOVEMENT_S + seconds + 1 ? 100 : 0)),
  };
  for (const role of without) delete roles[role];
  const samples: RunSamples = {
    tS,
    groundSpeedMps: column((now) => now.speedMps),
    groundSpeedSigmaMps: column(() => 0.01),
    wheelSpeedMps: column((now) => now.speedMps * (1 + now.slip)),
    slipSpeedMps: column((now) => now.speedMps * now.slip),
    slipRatio: column((now) => now.slip),
    slipSigma: column(() => 0.001),
    distanceM: column(() => 0),
    accelerationMps2: column((now) => now.mps2),
    roles,
  };
  return tuneRun({
    id,
    label: "as set",
    conditions: change.conditions ?? {},
    figures: {
      uid: `run ${id}`,
      movementS: MOVEMENT_S,
      movementPlusMinus95: 0.002,
      startedAtUtcMs: null,
      windowFromS: 100,
      windowToS: 115,
      courseDeg: change.courseDeg ?? null,
      altitudeChangeM: null,
      gates: [{ gate: "0-60 mph", start: "movement", seconds, plusMinus95: 0.004, atS: MOVEMENT_S + seconds }],
      slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null },
      flags: change.flags ?? [],
      measured: change.measured ?? {},
    },
    samples,
    car: { name: "Odrel", massKg: 1500, drivenAxle: "rear", gearRatio: 9 },
    calibrationId: 1,
    calibration: EXACT_CALIBRATION,
  });
}

export { SIXTY_MPS, START_MPS };
