/**
 * A test day of known truth for tuning, from either generator: launches as stored runs under an exact set-up, gentle driving, and what only
 * the generator knows. A launch that is not found fails the day.
 */
import type { CarSetUp, SetUp } from "../../src/shared/setup/set-up.ts";
import { DEFAULT_LAUNCH } from "../../src/shared/simulation/plan.ts";
import { TYRE_CURVES } from "../../src/shared/simulation/tyre-curve.ts";
import { type ForceBlocks, gentleBlocks } from "../../src/shared/tune/force-blocks.ts";
import { type TuneRun, tuneRun } from "../../src/shared/tune/tune-run.ts";
import { at, type Trace } from "../support/second-car/dynamics.ts";
import { frictionAt } from "../support/second-car/tyre.ts";
import { createRandom } from "../support/second-car/random.ts";
import { type Car, type DriveClass, drawRecipe } from "../support/second-car/recipe.ts";
import { recordDrive, setUpOf, tracksOf } from "../support/second-car/second-car.ts";
import { firstCarDay, planOf } from "./first-car.ts";
import { derive, LAUNCH_GATES } from "./known-drive.ts";

export interface TuneDayClass {
  readonly car: "first" | "second";
  readonly surface: "dry" | "wet";
  /** One launch each; null: control off. Otherwise the share of ground speed that the control allows as slip. */
  readonly allowed: readonly (number | null)[];
  /** Roles that are there; all unless said. */
  readonly kind?: DriveClass;
}

export interface TuneDayTruth {
  readonly bestSlip: number;
  /** Of the surface, tyres as warm as in these launches; the road's scatter from launch to launch is not in it. */
  readonly peakFriction: number;
  readonly dragAreaM2: number;
  readonly rollingResistance: number;
  readonly axleInertiaKgM2: number;
  readonly fullTorqueNm: number;
  readonly fullPowerW: number;
  /** Reported torque's force over the force that moved the car. */
  readonly torqueRatio: number;
  /** Seconds of launch above 10 km/h, held in each direction from the best slip: under it, and over it by a share. */
  readonly secondsUnder: (share: number) => number;
  readonly secondsOver: (share: number) => number;
}

/** The true forces on the car, for calculating the quickest launch independently. */
export interface TrueForces {
  readonly massKg: number;
  /** Driven (rear) axle's share of the weight, and height over wheelbase. */
  readonly rearWeightShare: number;
  readonly cgOverBase: number;
  readonly rollingRadiusM: number;
  readonly gearRatio: number;
  readonly gearEfficiency: number;
  readonly motorDragNm: number;
  readonly axleInertiaKgM2: number;
  readonly dragAreaM2: number;
  readonly airDensityKgM3: number;
  readonly rollingResistance: number;
  readonly maxTorqueNm: number;
  readonly maxPowerW: number;
  /** Friction at a slip ratio over ground speed; `launch` counts from 0: each grips a little otherwise. */
  readonly frictionAt: (slip: number, launch: number) => number;
}

/** True course at a base time. */
interface TrueMoment {
  readonly speedMps: number;
  readonly slipMps: number;
  readonly askedNm: number;
  readonly deliveredNm: number;
}

export interface TuneDay {
  readonly forces: TrueForces;
  readonly trueAt: (baseS: number) => TrueMoment;
  readonly runs: readonly TuneRun[];
  /** The gentle driving before the launches. */
  readonly gentle: readonly ForceBlocks[];
  readonly truth: TuneDayTruth;
}

const G = 9.80665;
const TEN_KMH_MPS = 10 / 3.6;
const STEP_S = 0.01;

/** The day of one seed. */
export function tuneDay(seed: number, day: TuneDayClass): TuneDay {
  return day.car === "first" ? firstDay(seed, day) : secondDay(seed, day);
}

/** The same runs under a set-up whose mass, height and weight share are each off by this share, up or down by lot. */
export function withSetUpOff(seed: number, runs: readonly TuneRun[], off: number): TuneRun[] {
  const random = createRandom(seed + 17);
  const side = () => 1 + (random.chance(0.5) ? off : -off);
  const [mass, height, share] = [side(), side(), side()];
  return runs.map((run) => {
    const { massKg, cgHeightM = Number.NaN, frontWeightShare = Number.NaN } = run.car;
    return {
      ...run,
      car: { ...run.car, massKg: massKg * mass, cgHeightM: cgHeightM * height, frontWeightShare: frontWeightShare * share },
    };
  });
}

function runsOf(derived: ReturnType<typeof derive>, car: CarSetUp, surface: string, allowed: TuneDayClass["allowed"]): TuneRun[] {
  const launches = allowed.length;
  if (derived.runs.length !== launches) throw new RangeError(`Expected ${launches} launches of the day, found ${derived.runs.length}`);
  return derived.runs.map((run, i) =>
    tuneRun({
      id: i + 1,
      label: allowed[i] === null ? "off" : "on",
      conditions: { surface },
      figures: run,
      samples: run.samples,
      car,
      calibrationId: 1,
      calibration: derived.calibration,
    }),
  );
}

/** Counts true slip over the launches on the run's own grid. */
function secondsWhere(
  runs: readonly TuneRun[],
  slipAt: (baseS: number) => { slipMps: number; speedMps: number },
  holds: (slip: number) => boolean,
): number {
  let rows = 0;
  for (const run of runs) {
    for (let i = run.startIndex; i < run.endIndex; i += 1) {
      const { slipMps, speedMps } = slipAt(run.samples.tS[i]);
      if (speedMps >= TEN_KMH_MPS && holds(slipMps / speedMps)) rows += 1;
    }
  }
  return rows * STEP_S;
}

function secondDay(seed: number, { surface, allowed, kind = {} }: TuneDayClass): TuneDay {
  const random = createRandom(seed * 7 + 3);
  const recipe = drawRecipe(seed, {
    ...kind,
    surface,
    launches: 0,
    phases: allowed.flatMap((share) => [
      { kind: "launch", rampS: random.between(0.1, 0.6), toMps: 33, control: share !== null } as const,
      { kind: "stop", decelMps2: random.between(3, 5) } as const,
      { kind: "rest", seconds: 5 + random.next() } as const,
    ]),
    limiter: { allowedShare: allowed.find((share) => share !== null) ?? 0.06 },
  });
  const drive = recordDrive(recipe);
  const { car } = recipe;
  const written = setUpOf(recipe);
  const setUp: SetUp = { ...written, car: { ...written.car, massKg: car.massKg } };
  const derived = derive(tracksOf(drive), setUp, LAUNCH_GATES);
  const runs = runsOf(derived, setUp.car, surface, allowed);
  const { c1, c2, c3 } = car.tyre;
  const wheelNormalised = Math.log((c1 * c2) / c3) / c2;
  const bestSlip = wheelNormalised / (1 - wheelNormalised);
  const shift = drive.truth.baseShiftS;
  const slipAt = (baseS: number) => {
    const speedMps = at(drive.trace, drive.trace.speedMps, baseS - shift);
    return { speedMps, slipMps: (at(drive.trace, drive.trace.motorRadps, baseS - shift) / car.gearRatio) * car.rollingRadiusM - speedMps };
  };
  const column = (pick: "requestNm" | "deliveredNm", baseS: number) => at(drive.trace, drive.trace[pick], baseS - shift);
  return {
    runs,
    gentle: gentleBlocks(derived.recording, derived.calibration, setUp),
    forces: {
      massKg: car.massKg,
      rearWeightShare: 1 - car.frontWeightShare,
      cgOverBase: car.cgHeightM / car.wheelbaseM,
      rollingRadiusM: car.rollingRadiusM,
      gearRatio: car.gearRatio,
      gearEfficiency: 1,
      motorDragNm: car.motorDragNm,
      axleInertiaKgM2: car.wheelsKgM2 + car.rotorKgM2 * car.gearRatio ** 2,
      dragAreaM2: car.dragAreaM2,
      airDensityKgM3: 1.2,
      rollingResistance: car.rollingResistance,
      maxTorqueNm: car.maxTorqueNm,
      maxPowerW: givenPowerW(drive.trace, car),
      frictionAt: (slip) => frictionAt(car.tyre, slip / (1 + slip)),
    },
    trueAt: (baseS) => ({ ...slipAt(baseS), askedNm: column("requestNm", baseS), deliveredNm: column("deliveredNm", baseS) }),
    truth: {
      bestSlip,
      peakFriction: c1 * (1 - Math.exp(-c2 * wheelNormalised)) - c3 * wheelNormalised,
      dragAreaM2: car.dragAreaM2,
      // What the motor itself drags is of the same kind at the road: no drive tells them apart.
      rollingResistance: car.rollingResistance + (car.motorDragNm * car.gearRatio) / car.rollingRadiusM / (car.massKg * G),
      axleInertiaKgM2: car.wheelsKgM2 + car.rotorKgM2 * car.gearRatio ** 2,
      fullTorqueNm: car.maxTorqueNm,
      fullPowerW: car.maxPowerW,
      torqueRatio: 1,
      secondsUnder: (share) => secondsWhere(runs, slipAt, (slip) => slip < bestSlip * (1 - share)),
      secondsOver: (share) => secondsWhere(runs, slipAt, (slip) => slip > bestSlip * (1 + share)),
    },
  };
}

/** Power that the motor gives at its limit: its limiter looks at 100 Hz and the inverter lags, so that a motor that speeds up gives more than it should. */
function givenPowerW({ length, deliveredNm, motorRadps, requestNm, control }: Trace, { maxTorqueNm, maxPowerW }: Car): number {
  const powers: number[] = [];
  for (let i = 0; i < length; i += 10) {
    const limited = requestNm[i] > 0.999 * maxTorqueNm && control[i] === 0 && motorRadps[i] * maxTorqueNm > 1.1 * maxPowerW;
    if (limited) powers.push(deliveredNm[i] * motorRadps[i]);
  }
  powers.sort((a, b) => a - b);
  return powers.length < 20 ? maxPowerW : powers[powers.length >> 1];
}

/** Grip of the simulated car's tyre by its temperature (car-model.ts), and the scatter of its road from launch to launch. */
const gripByDegC = (degC: number) => 1 - 0.03 * ((degC - 60) / 40) ** 2;
const ROAD_SCATTER = 0.007;

function firstDay(seed: number, { surface, allowed, kind = {} }: TuneDayClass): TuneDay {
  const random = createRandom(seed * 13 + 5);
  const roadGrip = allowed.map(() => 1 + ROAD_SCATTER * random.normal());
  const usual = planOf(seed, { ...kind, surface });
  const plan = {
    ...usual,
    segments: [
      { kind: "stand", seconds: 5 } as const,
      { kind: "gentle", seconds: kind.calibrationS ?? 120 } as const,
      ...allowed.map((share, i) => ({
        ...DEFAULT_LAUNCH,
        label: "",
        surface,
        tractionControl: share !== null,
        control: share === null ? {} : { slip: share },
        rampS: random.between(0.1, 0.6),
        toKmh: 125,
        grip: roadGrip[i],
      })),
      { kind: "stand", seconds: 6 } as const,
    ],
  };
  const known = firstCarDay(seed, plan, kind);
  const { car, slipAt } = known;
  if (slipAt === null) throw new RangeError("Expected the simulated car's true slip");
  const truth = { massKg: car.massKg, cgHeightM: car.cgHeightM, frontWeightShare: 1 - car.rearWeightShare, wheelbaseM: car.wheelbaseM };
  const setUp: SetUp = { ...known.setUp, car: { ...known.setUp.car, ...truth } };
  const derived = derive(known.tracks, setUp, LAUNCH_GATES);
  const runs = runsOf(derived, setUp.car, surface, allowed);
  const bestSlip = bestOf(TYRE_CURVES[surface]);
  const warmth = runs.map((run) => {
    const rows = Array.from({ length: run.endIndex - run.startIndex }, (_, k) => run.samples.tS[run.startIndex + k]);
    return rows.reduce((sum, t) => sum + gripByDegC(known.tyreDegCAt(t)), 0) / rows.length;
  });
  const tyre = TYRE_CURVES[surface];
  return {
    runs,
    gentle: gentleBlocks(derived.recording, derived.calibration, setUp),
    forces: {
      massKg: car.massKg,
      rearWeightShare: car.rearWeightShare,
      cgOverBase: car.cgHeightM / car.wheelbaseM,
      rollingRadiusM: car.rollingRadiusM,
      gearRatio: car.gearRatio,
      gearEfficiency: car.gearEfficiency,
      motorDragNm: 0,
      axleInertiaKgM2: car.axleInertiaKgM2,
      dragAreaM2: car.dragAreaM2,
      airDensityKgM3: car.airDensityKgM3,
      rollingResistance: car.rollingResistance,
      maxTorqueNm: car.maxTorqueNm,
      maxPowerW: car.maxPowerW,
      frictionAt(slip, launch) {
        const x = tyre.b * slip;
        const curve = tyre.d * Math.sin(tyre.c * Math.atan(x - tyre.e * (x - Math.atan(x))));
        return roadGrip[launch] * warmth[launch] * curve;
      },
    },
    trueAt: (baseS) => ({ ...slipAt(baseS), ...known.torqueAt(baseS) }),
    truth: {
      bestSlip,
      peakFriction: (TYRE_CURVES[surface].d * warmth.reduce((sum, grip) => sum + grip, 0)) / warmth.length,
      dragAreaM2: car.dragAreaM2,
      rollingResistance: car.rollingResistance,
      axleInertiaKgM2: car.axleInertiaKgM2,
      fullTorqueNm: car.maxTorqueNm,
      fullPowerW: car.maxPowerW,
      torqueRatio: car.torqueReportScale / car.gearEfficiency,
      secondsUnder: (share) => secondsWhere(runs, slipAt, (slip) => slip < bestSlip * (1 - share)),
      secondsOver: (share) => secondsWhere(runs, slipAt, (slip) => slip > bestSlip * (1 + share)),
    },
  };
}

/** Where D sin(C atan(...)) is greatest: its argument then is a quarter turn. By bisection. */
function bestOf({ b, c, e }: { b: number; c: number; e: number }): number {
  let [low, high] = [0.01, 1];
  for (let i = 0; i < 60; i += 1) {
    const middle = (low + high) / 2;
    const x = b * middle;
    if (c * Math.atan(x - e * (x - Math.atan(x))) < Math.PI / 2) low = middle;
    else high = middle;
  }
  return low;
}
