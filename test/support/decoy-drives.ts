/** Drives of six things that are no launch around one that is, from both generators, as bytes: for the finder that sees the whole and for the live states. */
import { createLiveSession } from "../../src/shared/pipeline/live-session.ts";
import type { Packet } from "../../src/shared/pipeline/packet.ts";
import { alignRecording } from "../../src/shared/align/align-recording.ts";
import { calibrate } from "../../src/shared/align/calibrate.ts";
import { createDecodeStream } from "../../src/shared/pipeline/decode-stream.ts";
import { findLaunches } from "../../src/shared/launch/find-launches.ts";
import { STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import type { LaunchState } from "../../src/shared/launch/launch-states.ts";
import { checkSetUp } from "../../src/shared/setup/check-set-up.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import type { DbcFile } from "../../src/shared/dbc/dbc-model.ts";
import { parseDbc } from "../../src/shared/dbc/dbc-file.ts";
import { carSetUp, carSignalFile } from "../../src/shared/simulation/car-files.ts";
import { DEFAULT_CONTROL } from "../../src/shared/simulation/traction-control.ts";
import { createDrive } from "../../src/shared/simulation/drive.ts";
import { DEFAULT_BUS, DEFAULT_LAUNCH, DEFAULT_RECEIVER, DEFAULT_START_UNIX_S, type Segment } from "../../src/shared/simulation/plan.ts";
import { filesOf } from "./second-car/files.ts";
import { packetsOf } from "./second-car/packets.ts";
import { createRandom } from "./second-car/random.ts";
import { drawRecipe, type Phase } from "./second-car/recipe.ts";
import { recordDrive } from "./second-car/second-car.ts";

export interface DecoyCase {
  readonly car: "first" | "second";
  readonly seed: number;
  readonly noiseMps: number;
  readonly correlated: boolean;
  readonly rateHz: number;
  readonly hold: boolean;
  /** False: drawn at random. On a wet road a launch may stay under 2.5 m/s2, and without a pedal it then is none. */
  readonly dry: boolean;
  /** Seconds of gentle driving before; 0: nothing is calibrated. */
  readonly gentleS: number;
}

export interface DecoyDrive {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly packets: readonly Packet[];
  /** Base time at which the launch began to move, within some 0.1 s. */
  readonly movementS: number;
  /** What was driven when, base time; the first car does not tell. */
  readonly spans: readonly { readonly what: string; readonly fromS: number; readonly toS: number }[];
}

/** Order of the six by lot, the launch among them. */
function shuffled<T>(seed: number, all: readonly T[]): T[] {
  const random = createRandom(seed * 17 + 3);
  return all
    .map((one) => ({ one, at: random.next() }))
    .sort((a, b) => a.at - b.at)
    .map(({ one }) => one);
}

function firstCar({ seed, noiseMps, correlated, rateHz, hold, dry, gentleS }: DecoyCase): DecoyDrive {
  const random = createRandom(seed * 31 + 7);
  const launch: Segment = {
    ...DEFAULT_LAUNCH,
    tractionControl: random.chance(0.5),
    rampS: random.between(0.1, 0.6),
    surface: !dry && random.chance(0.3) ? "wet" : "dry",
    toKmh: 70,
  };
  const decoys = (["falseStart", "creep", "push", "reverse", "spin", "driveBack"] as const).map(
    (what): Segment => ({ kind: "decoy", what }),
  );
  const gentle: Segment[] = gentleS > 0 ? [{ kind: "gentle", seconds: gentleS }] : [];
  const share = correlated ? Math.SQRT1_2 : 0;
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
      whiteMps: noiseMps * (correlated ? share : 1),
      correlatedMps: noiseMps * share,
      correlationS: random.between(0.3, 1.5),
      delayS: random.between(0.02, 0.2),
      atRest: hold ? ("held" as const) : ("noisy" as const),
      baud: 0,
    },
    bus: { ...DEFAULT_BUS, frontWheelSensors: random.chance(0.5), rearWheelSensors: random.chance(0.5) },
  };
  let movementS = Number.NaN;
  const drive = createDrive({
    seed,
    plan,
    segments: [
      { kind: "stand" as const, seconds: 5 },
      ...gentle,
      ...shuffled(seed, [launch, ...decoys]),
      { kind: "stand" as const, seconds: 6 },
    ][Symbol.iterator](),
    onLaunch: ({ movementHostS }) => {
      movementS = movementHostS ?? Number.NaN;
    },
  });
  const packets: Packet[] = [];
  for (let going = true; going; ) {
    going = drive.step();
    for (const { stream, arrivalUs, bytes: sent } of drive.take()) packets.push({ stream, arrivalNs: arrivalUs * 1000, bytes: sent });
  }
  return {
    setUp: checkSetUp(carSetUp({ ...plan.bus })),
    databases: [parseDbc("car.dbc", carSignalFile())],
    packets,
    movementS,
    spans: [],
  };
}

function secondCar({ seed, noiseMps, correlated, rateHz, hold, dry, gentleS }: DecoyCase): DecoyDrive {
  const random = createRandom(seed * 31 + 7);
  const apart = (phase: Phase): Phase[] => [phase, { kind: "stop", decelMps2: 2 }, { kind: "rest", seconds: 5 + random.next() }];
  const launch: Phase = { kind: "launch", rampS: random.between(0.1, 0.6), toMps: 20, control: random.chance(0.5) };
  const decoys = (["falseStart", "creep", "push", "reverse", "spin", "slowAway"] as const).map((kind): Phase => ({ kind }));
  const kind = {
    noiseMps,
    correlated,
    rateHz,
    hold,
    undriven: random.chance(0.5),
    calibrationS: gentleS,
    launches: 0,
    ...(dry ? { surface: "dry" as const } : {}),
  };
  const drive = recordDrive(drawRecipe(seed, { ...kind, phases: shuffled(seed, [launch, ...decoys]).flatMap(apart) }));
  const files = filesOf(drive);
  const { launches, baseShiftS } = drive.truth;
  return {
    setUp: checkSetUp(JSON.parse(files["setup.json"])),
    databases: [parseDbc("car.dbc", files["car.dbc"])],
    packets: packetsOf(files),
    movementS: (launches[0]?.movementS ?? Number.NaN) + baseShiftS,
    spans: drive.trace.phases.map(({ phase, fromS, toS }) => ({ what: phase.kind, fromS: fromS + baseShiftS, toS: toS + baseShiftS })),
  };
}

export const decoyDrive = (one: DecoyCase): DecoyDrive => (one.car === "first" ? firstCar(one) : secondCar(one));

/** Last instants at rest of the launches that are found; `bare` removes everything but the receiver. */
export function launchesFound({ setUp, databases, packets }: DecoyDrive, bare: boolean): number[] {
  const stream = createDecodeStream({ setUp, databases, canFormat: "slcan" });
  for (const packet of packets) stream.push(packet);
  stream.flush();
  const tracks = stream.tracks(packets[packets.length - 1].arrivalNs, []);
  const recording = alignRecording(bare ? { ...tracks, roles: {} } : tracks, setUp);
  return findLaunches(recording, calibrate(recording, setUp, null), setUp, []).map((window) => window.restS);
}

export interface LiveOutcome {
  /** State changes in order. */
  readonly states: readonly { readonly state: LaunchState; readonly tS: number }[];
  readonly runs: number;
  /** Longest from a gate's causal time on the screen to its settled one, s; NaN where none was shown. */
  readonly slowestSettleS: number;
  /** Gates that were shown and never settled while this was watched. */
  readonly unsettled: number;
}

const SCREEN_NS = 20e6;

/** The drive as it happens, armed from its first second on: what a screen is told. */
export function watchLive({ setUp, databases, packets }: DecoyDrive): LiveOutcome {
  const session = createLiveSession({
    setUp,
    databases,
    canFormat: "slcan",
    calibration: null,
    gates: STANDARD_GATES,
  });
  const states: { state: LaunchState; tS: number }[] = [];
  const shownAt = new Map<string, number>();
  let slowestSettleS = Number.NaN;
  let runs = 0;
  let nextNs = 1e9;
  let armed = false;
  for (const packet of packets) {
    while (packet.arrivalNs >= nextNs) {
      const live = session.tick(nextNs);
      // As the core does it: armed again after each run.
      if (!armed || live.state === "done") session.arm(nextNs);
      armed = true;
      runs += session.takeRuns().length;
      if (live.state !== states.at(-1)?.state) states.push({ state: live.state, tS: live.tS });
      if (live.state === "launched" && live.gates.length === 0) shownAt.clear();
      for (const gate of live.gates) {
        if (!gate.settled && !shownAt.has(gate.gate)) shownAt.set(gate.gate, live.tS);
        const since = shownAt.get(gate.gate);
        if (!gate.settled || since === undefined) continue;
        shownAt.delete(gate.gate);
        slowestSettleS = Math.max(Number.isNaN(slowestSettleS) ? 0 : slowestSettleS, live.tS - since);
      }
      nextNs += SCREEN_NS;
    }
    session.push(packet);
  }
  return { states, runs, slowestSettleS, unsettled: shownAt.size };
}
