/**
 * Drives of the project's own simulated car for the claims, through its bytes: a class of the second car, drawn in the same way on the
 * first. A plan in which no launch is found gives none.
 */
import type { DayPlan, LaunchSegment } from "../../src/shared/simulation/plan.ts";
import { DEFAULT_BUS, DEFAULT_LAUNCH, DEFAULT_RECEIVER, DEFAULT_START_UNIX_S } from "../../src/shared/simulation/plan.ts";
import { DEFAULT_CONTROL } from "../../src/shared/simulation/traction-control.ts";
import type { CarParameters } from "../../src/shared/simulation/car-parameters.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import type { Packet } from "../../src/shared/pipeline/packet.ts";
import { checkSetUp } from "../../src/shared/setup/check-set-up.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import type { RecordingTracks } from "../../src/shared/signals/tracks.ts";
import { covarianceOf, information } from "./information.ts";
import { createRandom } from "../support/second-car/random.ts";
import type { DriveClass } from "../support/second-car/recipe.ts";
import type { KnownDrive, KnownLaunch } from "./known-drive.ts";
import { decodeBytes, type LinedDrive, linesOf } from "./lined-drive.ts";

const LAUNCH_TO_KMH = 103;
/** Slower driving tells little and receivers hold or smooth it: as bound.ts has it. */
const LEAST_GENTLE_MPS = 4;

export function planOf(seed: number, kind: DriveClass): DayPlan {
  const random = createRandom(seed * 31 + 7);
  const noise = kind.noiseMps ?? 0.03;
  const correlated = kind.correlated ?? random.chance(0.5);
  const surface = kind.surface ?? (random.chance(0.3) ? "wet" : "dry");
  const launch: LaunchSegment = {
    ...DEFAULT_LAUNCH,
    label: "claims",
    surface,
    tractionControl: kind.control ?? random.chance(0.5),
    rampS: kind.rampS ?? random.between(0.1, 0.6),
    staticHoldNm: random.chance(0.3) ? 30 : 0,
    toKmh: LAUNCH_TO_KMH,
  };
  return {
    startUnixS: DEFAULT_START_UNIX_S,
    wallOffsetS: random.between(-0.2, 0.2),
    hostPpm: random.between(-20, 20),
    charge: 0.9,
    stalls: [],
    car: {},
    control: DEFAULT_CONTROL,
    receiver: {
      ...DEFAULT_RECEIVER,
      rateHz: kind.rateHz ?? 10,
      whiteMps: correlated ? noise * Math.SQRT1_2 : noise,
      correlatedMps: correlated ? noise * Math.SQRT1_2 : 0,
      correlationS: correlated ? random.between(0.3, 1.5) : 0.8,
      delayS: random.between(0.02, 0.2),
      jitterS: random.between(0.0005, 0.004),
      atRest: (kind.hold ?? random.chance(0.3)) ? "held" : "noisy",
      // Native USB, so that epochs of 20 Hz need no care for line load.
      baud: 0,
    },
    bus: {
      ...DEFAULT_BUS,
      driftPpm: random.between(-200, 200),
      stamps: kind.stamps ?? true,
      burstS: random.pick([0.001, 0.016]),
      frontWheelSensors: kind.undriven ?? true,
      rearWheelSensors: random.chance(0.5),
    },
    segments: [{ kind: "stand", seconds: 5 }, { kind: "gentle", seconds: kind.calibrationS ?? 120 }, launch, { kind: "stand", seconds: 6 }],
  };
}

/**
 * Least standard deviation of the delay over the gentle drive, s (Cramer-Rao): true speed and noise, scale and delay unknown.
 * Slip is taken as known, which undriven wheels make it and torque through the mass does on this level runway; without
 * either it is free within road tyres (0 to 0.02 a kilonewton), as bound.ts has it for the second car.
 */
function delayBoundS(plan: DayPlan, kind: DriveClass, massKg: number, speedAt: (tS: number) => number): number {
  const [stand, gentle] = plan.segments;
  if (stand.kind !== "stand" || gentle.kind !== "gentle") throw new RangeError("Delay bound: expected a stand and a gentle drive first");
  const { rateHz, whiteMps, correlatedMps, correlationS } = plan.receiver;
  const count = Math.floor((gentle.seconds - 1) * rateHz);
  const tS = Array.from({ length: count }, (_, i) => stand.seconds + 1 + i / rateHz).filter((t) => speedAt(t) > LEAST_GENTLE_MPS);
  const columns = [Float64Array.from(tS, speedAt), Float64Array.from(tS, (t) => -(speedAt(t + 0.02) - speedAt(t - 0.02)) / 0.04)];
  const slipKnown = kind.undriven !== false || kind.torque !== false;
  if (!slipKnown) columns.push(Float64Array.from(tS, (_, k) => columns[0][k] * columns[1][k] * massKg * 1e-3));
  const n = columns.length;
  const prior = new Float64Array(n * n);
  if (!slipKnown) prior[8] = 1 / 0.02 ** 2;
  const noise = { whiteMps, correlatedMps, correlationS };
  return Math.sqrt(covarianceOf(information(n, [{ tS, columns, noise }], prior), n)[n + 1]);
}

/** Roles that a class does without: removed after decoding, as the set-up file requires them. */
function without(tracks: RecordingTracks, kind: DriveClass): RecordingTracks {
  const roles = { ...tracks.roles };
  if (kind.motorSpeed === false) delete roles.motorSpeed;
  if (kind.torque === false) for (const role of ["torqueRequest", "torqueCommand", "torqueDelivered"] as const) delete roles[role];
  return { ...tracks, roles };
}

/** One drive of the simulated car: its bytes decoded by the product's own stages. */
export const firstCarDrive = (seed: number, kind: DriveClass): KnownDrive => firstCarDay(seed, planOf(seed, kind), kind);

/** The same drive's lines, for faults to be done to them. */
export function firstCarLines(seed: number, kind: DriveClass): LinedDrive {
  const { packets, known } = record(seed, planOf(seed, kind), kind);
  return { known, signalFile: carSignalFile(), lines: linesOf(packets), without: (tracks) => without(tracks, kind) };
}

/** A drive by a plan, with what only its makers know of car and tyres. */
export interface FirstCarDay extends KnownDrive {
  readonly car: CarParameters;
  /** Temperature of the driven tyres at a base time. */
  readonly tyreDegCAt: (baseS: number) => number;
  /** True torque at the motor shaft, and what the driver asked of it. */
  readonly torqueAt: (baseS: number) => { readonly askedNm: number; readonly deliveredNm: number };
}

export function firstCarDay(seed: number, plan: DayPlan, kind: DriveClass): FirstCarDay {
  const { packets, known } = record(seed, plan, kind);
  return { ...known, tracks: without(decodeBytes(known.setUp, carSignalFile(), packets, []), kind) };
}

/** A drive's packets, and what is known of it. */
function record(seed: number, plan: DayPlan, kind: DriveClass): { packets: Packet[]; known: Omit<FirstCarDay, "tracks"> } {
  const { frontWheelSensors, rearWheelSensors, stamps } = plan.bus;
  const setUp: SetUp = checkSetUp(carSetUp({ frontWheelSensors, rearWheelSensors, stamps }));
  const launches: KnownLaunch[] = [];
  const speed: number[] = [];
  const wheel: number[] = [];
  const tyreDegC: number[] = [];
  const asked: number[] = [];
  const delivered: number[] = [];
  const drive = createDrive({
    seed,
    plan,
    segments: plan.segments[Symbol.iterator](),
    onLaunch: ({ truth, movementHostS }) => {
      if (movementHostS === null) return;
      const top = truth.gates.find((g) => g.gate === "0-100 km/h" && g.start === "movement")?.seconds ?? 0;
      launches.push({ gates: truth.gates, movementS: movementHostS, liftS: movementHostS + top, boundS: Number.NaN });
    },
  });
  const packets: Packet[] = [];
  for (let going = true; going; ) {
    going = drive.step();
    speed.push(drive.state.speedMps);
    wheel.push(drive.state.axleRadps * drive.car.rollingRadiusM);
    tyreDegC.push(drive.state.tyreDegC);
    asked.push(drive.state.requestNm);
    delivered.push(drive.state.deliveredNm);
    for (const { stream, arrivalUs, bytes } of drive.take()) packets.push({ stream, arrivalNs: arrivalUs * 1000, bytes });
  }
  const gnssDelayS = drive.gnssDelayS() ?? Number.NaN;
  // Bus frames are late against true time by their least way to the laptop: the difference between the receiver's planned delay and the
  // true one.
  const shiftS = plan.receiver.delayS - gnssDelayS;
  // The base is the laptop's clock, the truth's is not: 20 ppm are 3 ms by the launch, while spinning wheels change by 40 m/s2.
  const trueS = (baseS: number): number => (baseS - shiftS) / (1 + plan.hostPpm / 1e6);
  const value = (column: readonly number[], tS: number): number => {
    const i = Math.max(0, Math.min(column.length - 2, Math.floor(tS * 1000) - 1));
    return column[i] + (tS * 1000 - 1 - i) * (column[i + 1] - column[i]);
  };
  return {
    packets,
    known: {
      setUp,
      rollingRadiusM: drive.car.rollingRadiusM,
      gnssDelayS,
      delayBoundS: delayBoundS(plan, kind, drive.car.massKg, (tS) => value(speed, tS)),
      launches,
      car: drive.car,
      tyreDegCAt: (baseS) => value(tyreDegC, trueS(baseS)),
      torqueAt: (baseS) => ({ askedNm: value(asked, trueS(baseS)), deliveredNm: value(delivered, trueS(baseS)) }),
      slipAt: (baseS) => {
        const speedMps = value(speed, trueS(baseS));
        return { slipMps: value(wheel, trueS(baseS)) - speedMps, speedMps };
      },
    },
  };
}
