/**
 * Days of launches under a control of known setting, on both generators: what the product makes of them as runs, and beside each run the true
 * course of speed, slip and torque each millisecond, on the recording's own base. A launch that the product does not find is left out and counted.
 */
import { createDecodeStream } from "../../src/shared/pipeline/decode-stream.ts";
import type { DerivedRun } from "../../src/shared/run/run.ts";
import { checkSetUp } from "../../src/shared/setup/check-set-up.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import { parseDbc } from "../../src/shared/dbc/dbc-file.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import { DEFAULT_BUS, DEFAULT_LAUNCH, DEFAULT_RECEIVER, DEFAULT_START_UNIX_S, type Segment } from "../../src/shared/simulation/plan.ts";
import { type ControlSetting, DEFAULT_CONTROL } from "../../src/shared/simulation/traction-control.ts";
import { type TuneRun, tuneRun } from "../../src/shared/tune/tune-run.ts";
import { createRandom } from "../support/second-car/random.ts";
import { drawRecipe, type Phase, type Recipe } from "../support/second-car/recipe.ts";
import { recordDrive, setUpOf, tracksOf } from "../support/second-car/second-car.ts";
import { derive, LAUNCH_GATES } from "./known-drive.ts";

/** True columns each millisecond of one launch; `tS` on the recording's base. */
export interface TrueLaunchTrace {
  readonly tS: Float64Array;
  readonly speedMps: Float64Array;
  readonly slipMps: Float64Array;
  readonly requestNm: Float64Array;
  readonly commandNm: Float64Array;
  readonly movementS: number;
  readonly control: boolean;
  /** 0-60 mph from movement, s; null not reached. */
  readonly sixtyS: number | null;
}

export interface ControlDay {
  readonly runs: readonly TuneRun[];
  /** Those driven with the control off. */
  readonly offRuns: readonly TuneRun[];
  /** Beside each run. */
  readonly truths: readonly TrueLaunchTrace[];
  readonly missed: number;
  /** Slip speed that the control allows at a ground speed, m/s. */
  readonly aimMps: (speedMps: number) => number;
  readonly fullTorqueNm: number;
  readonly fullPowerW: number;
}

export interface ControlDayAsk {
  readonly surface: "dry" | "wet";
  readonly launches: number;
  /** Launches before them with the control off, which show the tyre: they are no part of `runs`. */
  readonly off?: number;
  readonly gentleS?: number;
  /** Of the second car; rear unless said. */
  readonly drivenAxle?: "rear" | "front";
}

function asRuns(
  { runs }: { runs: readonly DerivedRun[] },
  setUp: SetUp,
  calibration: TuneRun["calibration"],
  surface: string,
): readonly TuneRun[] {
  return runs.map((run, i) => {
    const { samples, ...figures } = run;
    const conditions = { surface };
    return tuneRun({ id: i + 1, label: "day", conditions, figures, samples, car: setUp.car, calibrationId: 1, calibration });
  });
}

/** Pairs runs with the true launches by their movement. */
function paired(
  runs: readonly TuneRun[],
  truths: readonly TrueLaunchTrace[],
  rest: Pick<ControlDay, "aimMps" | "fullTorqueNm" | "fullPowerW">,
): ControlDay {
  const found = runs.flatMap((run) => {
    const truth = truths.find((t) => Math.abs(t.movementS - run.movementS) < 0.5);
    return truth === undefined ? [] : [{ run, truth }];
  });
  const on = found.filter(({ truth }) => truth.control);
  return {
    runs: on.map((f) => f.run),
    offRuns: found.filter(({ truth }) => !truth.control).map((f) => f.run),
    truths: on.map((f) => f.truth),
    missed: truths.length - found.length,
    ...rest,
  };
}

/** A day of the simulated car, through its bytes. The same seed drives the same day whatever the control. */
export function firstControlDay(
  seed: number,
  control: Partial<ControlSetting>,
  { surface, launches, off = 0, gentleS = 120 }: ControlDayAsk,
): ControlDay {
  const random = createRandom(seed * 67 + 11);
  const setting: ControlSetting = { ...DEFAULT_CONTROL, ...control };
  const segments: Segment[] = [
    { kind: "stand", seconds: 5 },
    { kind: "gentle", seconds: gentleS },
  ];
  for (let i = 0; i < launches + off; i += 1) {
    const tractionControl = i >= off;
    segments.push({ ...DEFAULT_LAUNCH, surface, tractionControl, label: "day", rampS: random.between(0.12, 0.4), toKmh: 110 });
    segments.push({ kind: "turn" });
  }
  segments.push({ kind: "stand", seconds: 5 });
  const plan = {
    startUnixS: DEFAULT_START_UNIX_S,
    wallOffsetS: random.between(-0.2, 0.2),
    hostPpm: random.between(-20, 20),
    charge: 0.9,
    stalls: [],
    car: {},
    control: setting,
    receiver: { ...DEFAULT_RECEIVER, delayS: random.between(0.03, 0.1) },
    bus: { ...DEFAULT_BUS, driftPpm: random.between(-100, 100), burstS: random.pick([0.001, 0.016]) },
    segments,
  };
  const setUp = checkSetUp(carSetUp(plan.bus));
  const stream = createDecodeStream({
    setUp,
    databases: [parseDbc("car.dbc", carSignalFile())],
    canFormat: "slcan",
  });
  const movements: { movementS: number; control: boolean; sixtyS: number | null }[] = [];
  const columns: number[][] = [[], [], [], []];
  const drive = createDrive({
    seed,
    plan,
    segments: segments[Symbol.iterator](),
    onLaunch: ({ segment, truth, movementHostS }) => {
      const sixtyS = truth.gates.find((g) => g.gate === "0-60 mph" && g.start === "movement")?.seconds ?? null;
      if (movementHostS !== null) movements.push({ movementS: movementHostS, control: segment.tractionControl, sixtyS });
    },
  });
  let endNs = 0;
  for (let going = true; going; ) {
    going = drive.step();
    const { speedMps, axleRadps, requestNm, commandNm } = drive.state;
    [speedMps, axleRadps * drive.car.rollingRadiusM - speedMps, requestNm, commandNm].forEach((value, k) => {
      columns[k].push(value);
    });
    for (const packet of drive.take()) {
      endNs = packet.arrivalUs * 1000;
      stream.push({ stream: packet.stream, arrivalNs: endNs, bytes: packet.bytes });
    }
  }
  stream.flush();
  // Bus frames lie behind true time by their least way to the laptop; the base is the laptop's clock.
  const shiftS = plan.receiver.delayS - (drive.gnssDelayS() ?? Number.NaN);
  const baseS = (ms: number) => ((ms + 1) / 1e3) * (1 + plan.hostPpm / 1e6) + shiftS;
  const derived = derive(stream.tracks(endNs, []), setUp, LAUNCH_GATES);
  const truths = movements.map(({ movementS, control, sixtyS }): TrueLaunchTrace => {
    const from = Math.max(0, Math.round((movementS - 1) * 1e3));
    const rows = Math.min(12_000, columns[0].length - from);
    const cut = (k: number) => Float64Array.from({ length: rows }, (_, i) => columns[k][from + i]);
    return {
      tS: Float64Array.from({ length: rows }, (_, i) => baseS(from + i)),
      speedMps: cut(0),
      slipMps: cut(1),
      requestNm: cut(2),
      commandNm: cut(3),
      movementS: movementS + shiftS,
      control,
      sixtyS,
    };
  });
  return paired(asRuns(derived, setUp, derived.calibration, surface), truths, {
    aimMps: (v) => Math.max(0.32, setting.slip * v),
    fullTorqueNm: drive.car.maxTorqueNm,
    fullPowerW: drive.car.maxPowerW,
  });
}

/** A day of the second generator. */
export function secondControlDay(
  seed: number,
  limiter: Partial<Recipe["limiter"]>,
  { surface, launches, off = 0, gentleS = 120, drivenAxle = "rear" }: ControlDayAsk,
): ControlDay {
  const ramps = createRandom(seed * 67 + 11);
  const phases = Array.from({ length: off + launches }, (_, i): readonly Phase[] => [
    { kind: "launch", rampS: ramps.between(0.1, 0.5), toMps: 28.5, control: i >= off },
    { kind: "stop", decelMps2: 4 },
    { kind: "rest", seconds: 5.5 },
  ]).flat();
  const recipe = drawRecipe(seed, { surface, launches: 0, calibrationS: gentleS, limiter, phases, drivenAxle });
  const drive = recordDrive(recipe);
  const setUp = setUpOf(recipe);
  const derived = derive(tracksOf(drive), setUp, LAUNCH_GATES);
  const { trace, truth } = drive;
  const shift = truth.baseShiftS;
  const perRad = recipe.car.rollingRadiusM / recipe.car.gearRatio;
  const truths = truth.launches.map((launch): TrueLaunchTrace => {
    const from = Math.max(0, Math.round((launch.movementS - 1) / trace.stepS));
    const rows = Math.min(15_000, trace.length - from);
    const cut = (column: Float64Array) => column.slice(from, from + rows);
    const speedMps = cut(trace.speedMps);
    const power = (motor: number) => recipe.car.maxPowerW / Math.max(1, Math.abs(motor));
    const motor = cut(trace.motorRadps);
    return {
      tS: Float64Array.from({ length: rows }, (_, i) => (from + i) * trace.stepS + shift),
      speedMps,
      slipMps: motor.map((w, i) => w * perRad - speedMps[i]),
      requestNm: cut(trace.requestNm).map((nm, i) => Math.min(nm, power(motor[i]))),
      commandNm: cut(trace.commandNm),
      movementS: launch.movementS + shift,
      control: launch.control,
      sixtyS: launch.gates.find((g) => g.gate === "0-60 mph" && g.start === "movement")?.seconds ?? null,
    };
  });
  const { allowedMps, allowedShare } = recipe.limiter;
  return paired(asRuns(derived, setUp, derived.calibration, surface), truths, {
    aimMps: (v) => allowedMps + allowedShare * v,
    fullTorqueNm: recipe.car.maxTorqueNm,
    fullPowerW: recipe.car.maxPowerW,
  });
}

/** Slip that passes more slowly passes at no sharp time (docs/control.md); seen over ten steps of the trace. */
const CREEP_MPS2 = 1.5;
const CREEP_STEPS = 5;

/**
 * True seconds from slip last passing what the control allows to the first command that was decided below what was asked; null where there was none,
 * or slip crept past.
 */
export function trueAnswerS({ tS, slipMps, speedMps, requestNm, commandNm }: TrueLaunchTrace, aimMps: ControlDay["aimMps"]): number | null {
  // The second car decides a command every 10 ms and holds it: on the pedal's way down a held one is less than what is asked by then.
  const on = tS.findIndex((_, i) => i >= 10 && commandNm[i] !== commandNm[i - 1] && requestNm[i] - commandNm[i] > 0.5);
  const over = (i: number) => slipMps[i] - aimMps(speedMps[i]);
  for (let i = on; i > CREEP_STEPS; i -= 1)
    if (over(i - 1) < 0 && over(i) >= 0) {
      const mps2 = (over(i + CREEP_STEPS) - over(i - CREEP_STEPS)) / (tS[i + CREEP_STEPS] - tS[i - CREEP_STEPS]);
      return mps2 < CREEP_MPS2 ? null : tS[on] - tS[i];
    }
  return null;
}
