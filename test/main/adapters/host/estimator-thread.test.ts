/**
 * The estimator in a real thread: it answers as it does in the same thread. A question that fails, or a thread that dies, is reported and
 * answered; nobody waits for ever.
 */
import { afterEach, beforeAll, expect, test } from "vitest";
import { startEstimatorThread } from "../../../../src/main/adapters/host/estimator-thread.ts";
import {
  type Estimates,
  type EstimatorOptions,
  type EstimatorWork,
  estimatesInline,
} from "../../../../src/shared/pipeline/live-estimator.ts";
import type { Packet } from "../../../../src/shared/pipeline/packet.ts";
import { STANDARD_GATES } from "../../../../src/shared/launch/gate.ts";
import { checkSetUp } from "../../../../src/shared/setup/check-set-up.ts";
import { parseDbc } from "../../../../src/shared/dbc/dbc-file.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import { shortDrive } from "../../../support/driven-core.ts";

const setUp = checkSetUp(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true }), "Set-up of the test");
const options: EstimatorOptions = {
  setUp,
  databases: [parseDbc("car.dbc", carSignalFile())],
  canFormat: "slcan",
  calibration: null,
  gates: STANDARD_GATES,
};
const fresh = { state: "fresh", words: "", rate: 10 } as const;
const seen = {
  setUp,
  gnss: fresh,
  can: fresh,
  calibrationAgeH: null,
  host: { freeBytes: null, power: null },
  antennaConfirmed: true,
} as unknown as Parameters<EstimatorWork["before"]>[0]["seen"];

let packets: Packet[] = [];
let movementS = 0;
beforeAll(() => {
  const drive = shortDrive([
    { kind: "gentle", seconds: 60 },
    { kind: "launch", standS: 3, toKmh: 110 },
    { kind: "stand", seconds: 5 },
  ]);
  packets = drive.packets.map(({ stream, arrivalUs, bytes }) => ({ stream, arrivalNs: arrivalUs * 1e3, bytes }));
});

let open: Estimates | null = null;
afterEach(() => open?.close());

const ask = <K extends keyof EstimatorWork>(estimates: Estimates, name: K, argument: Parameters<EstimatorWork[K]>[0]) =>
  new Promise<ReturnType<EstimatorWork[K]> | null>((resolve) => estimates.ask(name, argument, resolve));

async function answers(estimates: Estimates) {
  for (const packet of packets) estimates.push(packet);
  const calibration = await ask(estimates, "calibrate", null);
  const runs = await ask(estimates, "runs", { marks: [] });
  movementS = runs?.[0]?.movementS ?? Number.NaN;
  const settled = await ask(estimates, "settle", { movementS });
  const before = await ask(estimates, "before", { seen, look: true });
  return { calibration, runs, settled, before };
}

test("answers what the estimator in line answers, to the last bit", async () => {
  const inline = await answers(estimatesInline(options));
  expect(inline.runs).toHaveLength(1);
  expect(inline.settled?.map(({ gate }) => gate)).toContain("0-60 mph");
  expect(inline.calibration?.rollingRadiusM.from).toBe("calibrated");
  const troubles: string[] = [];
  open = startEstimatorThread(options, (text) => troubles.push(text));
  expect(await answers(open)).toEqual(inline);
  expect(troubles).toEqual([]);
});

test("a question that fails is told with its reason; the next one is answered", async () => {
  const troubles: string[] = [];
  const thread = startEstimatorThread(options, (text) => troubles.push(text));
  open = thread;
  for (const packet of packets) thread.push(packet);
  expect(await ask(thread, "runs", null as unknown as { marks: [] })).toBeNull();
  expect(troubles).toEqual([
    expect.stringMatching(/^A launch could not be timed while driving: .*marks.* Closing the recording times it\.$/),
  ]);
  expect(await ask(thread, "runs", { marks: [] })).toHaveLength(1);
});

test("a thread that dies is told once; what was asked and what is asked later is answered with nothing", async () => {
  const troubles: string[] = [];
  const broken = {
    ...options,
    setUp: { ...setUp, signals: { ...setUp.signals, motorSpeed: { signal: "Nothing.Here" } } },
  } as EstimatorOptions;
  const thread = startEstimatorThread(broken, (text) => troubles.push(text));
  open = thread;
  expect(await ask(thread, "settle", { movementS: 1 })).toBeNull();
  expect(await ask(thread, "calibrate", null)).toBeNull();
  expect(troubles).toEqual([
    expect.stringMatching(/^Launches are not timed while driving: .*Nothing\.Here.* Recording goes on; closing it times them\.$/),
  ]);
});

test("closing answers what is still asked, so that nobody waits for ever, and tells no trouble", async () => {
  const troubles: string[] = [];
  const thread = startEstimatorThread(options, (text) => troubles.push(text));
  const asked = ask(thread, "calibrate", null);
  thread.close();
  expect(await asked).toBeNull();
  expect(await ask(thread, "calibrate", null)).toBeNull();
  await new Promise((resolve) => setTimeout(resolve, 300));
  expect(troubles).toEqual([]);
});

test("a thread that falls behind is let go with one line; what waits for it is answered, and memory stays bounded", async () => {
  const troubles: string[] = [];
  const bytes = packets.reduce((sum, packet) => sum + packet.bytes.length, 0);
  const thread = startEstimatorThread(options, (text) => troubles.push(text), bytes / 2);
  open = thread;
  // All in one turn of the loop: nothing can be answered meanwhile.
  const asked = ask(thread, "calibrate", null);
  for (const packet of packets) thread.push(packet);
  expect(await asked).toBeNull();
  expect(await ask(thread, "calibrate", null)).toBeNull();
  expect(troubles).toEqual([expect.stringMatching(/does not keep up\. Recording goes on; closing it times them\.$/)]);
});
