/**
 * Launches timed by several threads are those of one thread, to every figure, sample and name: on the simulated car and on the second generator, in one
 * chapter and in several. Whatever a thread does, no launch is lost. The outside reference is the one thread (launch-team.ts, ALONE).
 */
import { afterEach, beforeAll, expect, test } from "vitest";
import { createLaunchThreads, type LaunchThreads, type LaunchThreadsOptions } from "../../../../src/main/adapters/host/launch-threads.ts";
import type { DbcFile } from "../../../../src/shared/dbc/dbc-model.ts";
import { parseDbc } from "../../../../src/shared/dbc/dbc-file.ts";
import { drain } from "../../../../src/shared/kernel/drain.ts";
import { STANDARD_GATES } from "../../../../src/shared/launch/gate.ts";
import { deriveRecording } from "../../../../src/shared/pipeline/derive-recording.ts";
import { ALONE, type LaunchTask, type LaunchTeam } from "../../../../src/shared/pipeline/launch-team.ts";
import type { Packet } from "../../../../src/shared/pipeline/packet.ts";
import type { DerivedRun } from "../../../../src/shared/run/run.ts";
import { checkSetUp } from "../../../../src/shared/setup/check-set-up.ts";
import type { SetUp } from "../../../../src/shared/setup/set-up.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import { shortDrive } from "../../../support/driven-core.ts";
import { filesOf } from "../../../support/second-car/files.ts";
import { packetsOf } from "../../../support/second-car/packets.ts";
import { drawRecipe } from "../../../support/second-car/recipe.ts";
import { recordDrive } from "../../../support/second-car/second-car.ts";

interface Drive {
  readonly setUp: SetUp;
  readonly databases: readonly DbcFile[];
  readonly packets: readonly Packet[];
}

const LAUNCHES = 5;
const drives: Record<"simulated" | "second", Drive | null> = { simulated: null, second: null };

beforeAll(() => {
  const launch = { kind: "launch", toKmh: 105, standS: 4 };
  const { packets } = shortDrive([
    { kind: "gentle", seconds: 40 },
    ...Array.from({ length: LAUNCHES }, () => launch),
    { kind: "stand", seconds: 5 },
  ]);
  drives.simulated = {
    setUp: checkSetUp(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true })),
    databases: [parseDbc("car.dbc", carSignalFile())],
    packets: packets.map(({ stream, arrivalUs, bytes }) => ({ stream, arrivalNs: arrivalUs * 1e3, bytes })),
  };
  const files = filesOf(recordDrive(drawRecipe(11)));
  drives.second = {
    setUp: checkSetUp(JSON.parse(files["setup.json"])),
    databases: [parseDbc("car.dbc", files["car.dbc"])],
    packets: packetsOf(files),
  };
});

let open: LaunchThreads | null = null;
afterEach(() => open?.close());

function threads(options: Partial<LaunchThreadsOptions> = {}): { team: LaunchThreads; told: string[] } {
  const told: string[] = [];
  open = createLaunchThreads({ threads: 2, fewestLaunches: 1, onTrouble: (text) => told.push(text), ...options });
  return { team: open, told };
}

function steps(drive: Drive | null, team: LaunchTeam, chapterS: number) {
  if (drive === null) throw new TypeError("no drive");
  return deriveRecording<DerivedRun>({
    ...drive,
    canFormat: "slcan",
    endNs: drive.packets.at(-1)?.arrivalNs ?? 0,
    gaps: [],
    gates: STANDARD_GATES,
    calibration: null,
    marks: [],
    chapterS,
    keep: (run) => run,
    team,
  });
}

test.each([
  ["simulated", "one chapter", 10_000],
  ["simulated", "several chapters", 30],
  ["second", "one chapter", 10_000],
  ["second", "several chapters", 40],
] as const)("the %s car's launches, %s, are the same by one thread and by three", (car, _what, chapterS) => {
  const alone = drain(steps(drives[car], ALONE, chapterS));
  expect(alone.runs.length).toBeGreaterThan(car === "simulated" ? LAUNCHES - 1 : 0);
  const { team, told } = threads();
  const together = drain(steps(drives[car], team, chapterS));
  expect(together).toStrictEqual(alone);
  // Byte for byte what is stored: the order of keys too.
  expect(JSON.stringify(together)).toBe(JSON.stringify(alone));
  expect(told).toEqual([]);
});

test.each([
  ["one thread", 10_000],
  ["one thread", 30],
  ["three", 10_000],
  ["three", 30],
] as const)("progress of %s, chapters of %d s, never falls and reaches the end", (who, chapterS) => {
  const shares: number[] = [];
  drain(steps(drives.simulated, who === "three" ? threads().team : ALONE, chapterS), (share) => shares.push(share));
  expect(shares.every((share, i) => share >= (shares[i - 1] ?? 0))).toBe(true);
  expect(shares.at(-1)).toBeCloseTo(1, 12);
});

test("left in the middle, the threads are free for what comes next, and mix nothing of it", () => {
  const alone = drain(steps(drives.simulated, ALONE, 30));
  const { team, told } = threads();
  for (const share of [0.5, 0.7]) {
    const left = steps(drives.simulated, team, 30);
    for (let step = left.next(); step.done !== true && step.value < share; step = left.next());
    expect(() => left.throw(new RangeError("Cancelled"))).toThrow("Cancelled");
  }
  expect(drain(steps(drives.simulated, team, 30))).toStrictEqual(alone);
  expect(told).toEqual([]);
});

const BROKEN: readonly (readonly [string, string])[] = [
  ["ends at once", "process.exit(3)"],
  ["cannot be loaded", "import './there-is-no-such-module.mjs'"],
  [
    "takes a launch and dies",
    "import { workerData } from 'node:worker_threads'; workerData.port.on('message', ({ board }) => { Atomics.add(board, 0, 1); process.exit(3); })",
  ],
  [
    "takes a launch and keeps it",
    "import { workerData } from 'node:worker_threads'; workerData.port.on('message', ({ board }) => Atomics.add(board, 0, 1))",
  ],
  [
    "has no memory for it",
    "import { workerData } from 'node:worker_threads'; workerData.port.on('message', ({ id, board }) => workerData.port.postMessage({ id, index: Atomics.add(board, 0, 1), error: 'Array buffer allocation failed' }))",
  ],
];

test.each(BROKEN)("a thread that %s costs no launch; it is told at most once", (_what, code) => {
  const alone = drain(steps(drives.simulated, ALONE, 30));
  const { team, told } = threads({ entry: new URL(`data:text/javascript,${encodeURIComponent(code)}`), patienceMs: 200 });
  expect(drain(steps(drives.simulated, team, 30))).toStrictEqual(alone);
  expect(told.length).toBeLessThan(2);
});

test("a thread that died is told in one line that says what goes on", async () => {
  const { team, told } = threads({ entry: new URL("data:text/javascript,process.exit(3)") });
  drain(steps(drives.simulated, team, 10_000));
  await expect.poll(() => told).toHaveLength(1);
  expect(told[0]).toMatch(/^Launches are timed by one thread from here on, which takes longer: .*(code 3|no answer)/);
});

test("a launch that cannot be timed gives the error that one thread gives", () => {
  let task: LaunchTask | null = null;
  drain(
    steps(
      drives.simulated,
      {
        time(given) {
          task = given;
          return ALONE.time(given);
        },
      },
      10_000,
    ),
  );
  const impossible = { ...(task as unknown as LaunchTask), calibration: null as never };
  const errorOf = (team: LaunchTeam) => {
    const timing = team.time(impossible);
    for (;;)
      try {
        timing.next();
      } catch (error) {
        return error;
      }
  };
  const { team, told } = threads();
  expect(errorOf(team)).toStrictEqual(errorOf(ALONE));
  expect(told).toEqual([]);
});

test("without a further core, or with few launches, nothing is started", () => {
  for (const options of [{ threads: 0 }, { fewestLaunches: LAUNCHES + 1 }]) {
    const { team } = threads({ ...options, entry: new URL("data:text/javascript,process.exit(3)") });
    expect(drain(steps(drives.simulated, team, 10_000)).runs).toHaveLength(LAUNCHES);
  }
});
