/**
 * A recording derived in chapters gives the launches that it gives when it is seen whole, wherever chapters end: in a standing, a launch or its braking.
 * The outside reference is the simulated drive's own truth, and the whole.
 */
import { beforeAll, expect, test } from "vitest";
import { drain } from "../../../src/shared/kernel/drain.ts";
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";
import { parseDbc } from "../../../src/shared/dbc/dbc-file.ts";
import { deriveRecording } from "../../../src/shared/pipeline/derive-recording.ts";
import type { Packet } from "../../../src/shared/pipeline/packet.ts";
import type { DerivedRun } from "../../../src/shared/run/run.ts";
import { checkSetUp } from "../../../src/shared/setup/check-set-up.ts";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import { type DayTruth, simulateDay } from "../../../src/shared/simulation/simulate-day.ts";
import type { Calibration } from "../../../src/shared/align/calibration.ts";

const SEED = 9;
const launch = { kind: "launch", toKmh: 105, standS: 4 };
const segments = [
  { kind: "gentle", seconds: 40 },
  ...[0, 1].flatMap(() => [launch, { kind: "drive", metres: 60, kmh: 40 }, { kind: "turn" }, { kind: "drive", metres: 20, kmh: 14 }]),
  // Longer than what is read behind a chapter: standing, and on with the same recording.
  { kind: "stand", seconds: 200 },
  launch,
  { kind: "stand", seconds: 5 },
];
const plan = readPlan({ segments }, SEED);

let packets: Packet[] = [];
let truth: DayTruth;
let whole: { calibration: Calibration; runs: readonly DerivedRun[] };

function derived(chapterS: number, calibration: Calibration | null) {
  return drain(
    deriveRecording({
      setUp: checkSetUp(carSetUp(plan.bus)),
      databases: [parseDbc("car.dbc", carSignalFile())],
      canFormat: "slcan",
      packets,
      endNs: packets.at(-1)?.arrivalNs ?? 0,
      gaps: [],
      gates: STANDARD_GATES,
      calibration,
      marks: [],
      chapterS,
      keep: (run) => run,
    }),
  );
}

beforeAll(() => {
  const day = simulateDay({ seed: SEED, plan });
  packets = [...day.packets].map(({ stream, arrivalUs, bytes }) => ({ stream, arrivalNs: arrivalUs * 1e3, bytes }));
  truth = day.truth();
  whole = derived(10_000, null);
});

test("seen whole, the drive has the launches that were driven", () => {
  expect(whole.runs).toHaveLength(truth.runs.length);
});

test.each([23, 47, 53, 60])("chapters of %d s give the same launches, none twice, none left out", (chapterS) => {
  const { runs } = derived(chapterS, whole.calibration);
  expect(runs.map((run) => run.uid)).toEqual(whole.runs.map((run) => run.uid));
  for (const [i, run] of runs.entries()) {
    const other = whole.runs[i] as DerivedRun;
    for (const [g, gate] of run.gates.entries()) {
      const its = other.gates[g];
      expect([gate.gate, gate.start, gate.seconds === null]).toEqual([its?.gate, its?.start, its?.seconds === null]);
      if (gate.seconds !== null) expect(Math.abs(gate.seconds - (its?.seconds as number))).toBeLessThan(gate.plusMinus95 as number);
    }
  }
});

test("a recording of several chapters is calibrated by the one that tells the radius best, and is the same each time", () => {
  const { calibration, runs } = derived(100, null);
  const { value, plusMinus95, from } = calibration.rollingRadiusM;
  expect(from).toBe("calibrated");
  expect(Math.abs(value - truth.rollingRadiusM)).toBeLessThan(2 * plusMinus95);
  expect(derived(100, null).runs.map((run) => JSON.stringify(run.gates))).toEqual(runs.map((run) => JSON.stringify(run.gates)));
});
