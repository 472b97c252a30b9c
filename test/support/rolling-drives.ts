/** Gentle starts, creeps, pushes and reversing of both generators as bytes with the true speed beside them, and how long a screen said "standing" while the car rolled. */
import { createLiveSession } from "../../src/shared/pipeline/live-session.ts";
import type { Packet } from "../../src/shared/pipeline/packet.ts";
import { STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import { checkSetUp } from "../../src/shared/setup/check-set-up.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import { parseDbc } from "../../src/shared/dbc/dbc-file.ts";
import type { DbcFile } from "../../src/shared/dbc/dbc-model.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import { DEFAULT_CONTROL } from "../../src/shared/simulation/traction-control.ts";
import { DEFAULT_BUS, DEFAULT_LAUNCH, DEFAULT_RECEIVER, DEFAULT_START_UNIX_S, type Segment } from "../../src/shared/simulation/plan.ts";
import { at } from "./second-car/dynamics.ts";
import { filesOf } from "./second-car/files.ts";
import { createRandom } from "./second-car/random.ts";
import { drawRecipe, type Phase } from "./second-car/recipe.ts";
import { inOrder, packetsOf } from "./second-car/packets.ts";
import { recordDrive, setUpOf } from "./second-car/second-car.ts";

/** Of rolling: docs/design.md "Definitions", movement. */
const ROLLING_MPS = 0.5 / 3.6;

export interface RollingCase {
  readonly car: "first" | "second";
  readonly seed: number;
  readonly rateHz: number;
  readonly noiseMps: number;
  readonly hold: boolean;
  readonly undriven: boolean;
  /** The gearbox stands in neutral, or the motor's message is not there: nobody sees the wheels turn. */
  readonly motorSpeed: boolean;
}

export interface RollingDrive {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly packets: readonly Packet[];
  readonly endS: number;
  /** True speed of the body at a base time, m/s, not below 0. */
  readonly speedMps: (tS: number) => number;
  /** Base times at which it began to roll. */
  readonly rolledS: readonly number[];
}

const bytes = (text: string) => new TextEncoder().encode(text);

function risesOf(speedMps: (tS: number) => number, endS: number): number[] {
  const rises: number[] = [];
  for (let k = 1; k < endS * 1000; k++)
    if (speedMps((k - 1) / 1000) < ROLLING_MPS && speedMps(k / 1000) >= ROLLING_MPS) rises.push(k / 1000);
  return rises;
}

function firstCar({ seed, rateHz, noiseMps, hold, undriven }: RollingCase): RollingDrive {
  const random = createRandom(seed * 31 + 7);
  const gentle = (): Segment[] => [
    { kind: "stand", seconds: 5 },
    { kind: "drive", metres: random.between(0.4, 12), kmh: random.between(0.8, 15) },
  ];
  const decoys = (["creep", "push", "reverse", "spin", "driveBack"] as const).map((what): Segment => ({ kind: "decoy", what }));
  const plan = {
    startUnixS: DEFAULT_START_UNIX_S,
    wallOffsetS: 0,
    hostPpm: random.between(-20, 20),
    charge: 0.9,
    stalls: [],
    car: {},
    control: DEFAULT_CONTROL,
    receiver: {
      ...DEFAULT_RECEIVER,
      rateHz,
      whiteMps: noiseMps * Math.SQRT1_2,
      correlatedMps: noiseMps * Math.SQRT1_2,
      delayS: random.between(0.02, 0.2),
      atRest: hold ? ("held" as const) : ("noisy" as const),
      baud: 0,
    },
    bus: { ...DEFAULT_BUS, frontWheelSensors: undriven, rearWheelSensors: random.chance(0.5), burstS: random.pick([0.001, 0.016]) },
  };
  const launch: Segment = { ...DEFAULT_LAUNCH, staticHoldNm: random.pick([0, 60]), toKmh: 40 };
  const drive = createDrive({
    seed,
    plan,
    segments: [...decoys, ...gentle(), ...gentle(), ...gentle(), launch, { kind: "stand" as const, seconds: 3 }][Symbol.iterator](),
    onLaunch: () => undefined,
  });
  const packets: Packet[] = [];
  const truth: number[] = [];
  for (let going = true; going; ) {
    going = drive.step();
    const ms = Math.round(drive.nowUs() / 1000);
    while (truth.length <= ms) truth.push(Math.abs(drive.state.speedMps));
    for (const { stream, arrivalUs, bytes: sent } of drive.take()) packets.push({ stream, arrivalNs: arrivalUs * 1000, bytes: sent });
  }
  const speedMps = (tS: number) => truth[Math.min(truth.length - 1, Math.max(0, Math.round(tS * 1000)))] ?? 0;
  const endS = truth.length / 1000;
  return {
    setUp: checkSetUp(carSetUp({ ...plan.bus })),
    databases: [parseDbc("car.dbc", carSignalFile())],
    packets,
    endS,
    speedMps,
    rolledS: risesOf(speedMps, endS),
  };
}

function secondCar({ seed, rateHz, noiseMps, hold, undriven, motorSpeed }: RollingCase): RollingDrive {
  const random = createRandom(seed * 31 + 7);
  const apart = (phase: Phase): Phase[] => [phase, { kind: "stop", decelMps2: 2 }, { kind: "rest", seconds: 5 + random.next() }];
  // With under 3.5 m/s to go its driver gathers speed by the twentieth part of what is wanted: 0.05 to 0.17 m/s2.
  const soft = (): Phase => ({ kind: "gentle", seconds: 8, lowMps: random.between(1, 3.4), highMps: 3.4, swingMps2: 0, periodS: 5 });
  const brisk = (): Phase => ({ kind: "gentle", seconds: 6, lowMps: 6, highMps: 6, swingMps2: 0, periodS: 5 });
  const decoys = (["creep", "push", "reverse", "spin", "slowAway"] as const).map((kind): Phase => ({ kind }));
  const launch: Phase = { kind: "launch", rampS: random.between(0.1, 0.6), toMps: 12, control: true };
  const phases = [...decoys, soft(), brisk(), soft(), launch].flatMap(apart);
  const recipe = drawRecipe(seed, { rateHz, noiseMps, hold, undriven, motorSpeed, calibrationS: 0, launches: 0, phases });
  const drive = recordDrive(recipe);
  const files = filesOf(drive);
  const { trace } = drive;
  const endS = trace.length * trace.stepS;
  const speedMps = (tS: number) => Math.abs(at(trace, trace.speedMps, tS));
  return {
    setUp: motorSpeed ? checkSetUp(JSON.parse(files["setup.json"])) : setUpOf(recipe),
    databases: [parseDbc("car.dbc", files["car.dbc"])],
    packets: packetsOf(files),
    endS,
    speedMps,
    rolledS: risesOf(speedMps, endS),
  };
}

export const rollingDrive = (one: RollingCase): RollingDrive => (one.car === "first" ? firstCar(one) : secondCar(one));

export type StreamFault = "none" | "motor in neutral" | "receiver late" | "receiver absent" | "receiver lost" | "bus lost" | "both lost";

/** The second car's Motor message with its speed, the first 16 bits, at 0. */
function withoutMotor(frame: Uint8Array): Uint8Array {
  const text = new TextDecoder().decode(frame);
  return text.startsWith("t1B4") ? bytes(`${text.slice(0, 5)}0000${text.slice(9)}`) : frame;
}

/** What reaches the laptop when a device fails just before each start to roll, for some seconds; or all along. */
export function withFault({ packets, rolledS }: RollingDrive, fault: StreamFault): readonly Packet[] {
  const lost = ({ arrivalNs }: Packet) => rolledS.some((from) => arrivalNs / 1e9 > from - 0.05 && arrivalNs / 1e9 < from + 3);
  switch (fault) {
    case "motor in neutral":
      return packets.map((one) => ({ ...one, bytes: withoutMotor(one.bytes) }));
    case "receiver late":
      return inOrder(packets.map((one) => (one.stream === "gnss" ? { ...one, arrivalNs: one.arrivalNs + 0.8e9 } : one)));
    case "receiver absent":
      return packets.filter((one) => one.stream !== "gnss");
    case "receiver lost":
      return packets.filter((one) => one.stream !== "gnss" || !lost(one));
    case "bus lost":
      return packets.filter((one) => one.stream !== "can" || !lost(one));
    case "both lost":
      return packets.filter((one) => !lost(one));
    default:
      return packets;
  }
}

export interface Readiness {
  /** How often "standing" began. */
  readonly times: number;
  /** The longest that "standing" stood on the screen while the car rolled, s; 0 where it never did. */
  readonly longestRollingS: number;
}

const SCREEN_S = 0.02;

/** The drive as it happens, armed throughout: what a screen is told, against the truth. */
export function watchReady({ setUp, databases, endS, speedMps }: RollingDrive, packets: readonly Packet[]): Readiness {
  const session = createLiveSession({ setUp, databases, canFormat: "slcan", calibration: null, gates: STANDARD_GATES });
  let times = 0;
  let longestRollingS = 0;
  let rollingSinceS: number | null = null;
  let was = "";
  let next = 0;
  for (let tS = 1; tS < endS; tS += SCREEN_S) {
    for (; next < packets.length && packets[next].arrivalNs <= tS * 1e9; next++) session.push(packets[next]);
    const { state } = session.tick(tS * 1e9);
    if (state === "idle" || state === "done") session.arm(tS * 1e9);
    if (state === "standing" && was !== "standing") times += 1;
    was = state;
    // Rolling counts from when it began, seen or not.
    if (speedMps(tS) < ROLLING_MPS) rollingSinceS = null;
    else rollingSinceS ??= tS;
    if (state === "standing" && rollingSinceS !== null) longestRollingS = Math.max(longestRollingS, tS - rollingSinceS);
  }
  session.close();
  return { times, longestRollingS };
}
