/**
 * The whole way once: the simulated car's bytes in real time through two PTYs and the real serial stack, captured by the real command with
 * nobody touching a key; then the same run from the journal, from its exported logs and derived again. Truth: the simulator's own (truth of
 * its physics).
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import type { SimulatedPacket } from "../../../src/shared/simulation/packets.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import { type DayTruth, simulateDay } from "../../../src/shared/simulation/simulate-day.ts";
import { answerLikeAdapter, createPtyDevice, type PtyDevice, whyNoPty } from "../../support/pty-device.ts";
import { answerFault } from "../../support/answer-schemas.ts";
import { gripbook, gripbookJson, type Ran, startGripbook } from "../../support/run-gripbook.ts";

if (whyNoPty !== null) console.warn(`skipped: capture through PTYs: ${whyNoPty}`);

const SEED = 3;
/** Asked for by the issue this closes. */
const WITHIN_S = 0.05;
const SAFE = /^((C|S[0-8]|Z[01]|L|V|N|F)\r)+$/;

function drive(): { packets: SimulatedPacket[]; truth: DayTruth } {
  const plan = readPlan(
    {
      segments: [
        { kind: "stand", seconds: 2 },
        { kind: "launch", standS: 2, toKmh: 105 },
        { kind: "stand", seconds: 4 },
      ],
    },
    SEED,
  );
  const day = simulateDay({ seed: SEED, plan });
  const packets = [...day.packets];
  return { packets, truth: day.truth() };
}

/** Writes each packet when its moment has come. */
async function play(packets: readonly SimulatedPacket[], devices: Record<"gnss" | "can", PtyDevice>): Promise<void> {
  const startMs = performance.now();
  let next = 0;
  while (next < packets.length) {
    const nowUs = (performance.now() - startMs) * 1000;
    for (let packet = packets[next]; packet !== undefined && packet.arrivalUs <= nowUs; packet = packets[++next])
      devices[packet.stream].write(packet.bytes);
    await new Promise((done) => setTimeout(done, 1));
  }
}

/** What must agree to the byte: everything but the ids and names that a book assigns. */
function comparable(view: RunView): string {
  const { id: _id, label: _label, ...run } = view.run;
  const { id: _calibration, ...calibration } = view.calibration;
  return JSON.stringify({ ...view, run, calibration });
}

let folder = "";
let devices: Record<"gnss" | "can", PtyDevice>;
let truth: DayTruth;
let captured: Ran;
const inFolder = (name: string) => join(folder, name);

beforeAll(async () => {
  if (whyNoPty !== null) return;
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  devices = { gnss: await createPtyDevice(), can: await createPtyDevice() };
  await Promise.all([devices.gnss.plug(), devices.can.plug()]);
  const opened = new Promise<void>((done) => answerLikeAdapter(devices.can, { onOpen: done }));
  const setUp = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
  const sources = {
    gnss: { port: devices.gnss.path, baud: 115200 },
    can: { port: devices.can.path, baud: 115200, bitrate: 500000, adapterClock: true },
  };
  writeFileSync(inFolder("setup.json"), JSON.stringify({ ...setUp, sources }));
  writeFileSync(inFolder("car.dbc"), carSignalFile());
  const { packets, ...driven } = drive();
  truth = driven.truth;
  const capture = startGripbook("capture", "--setup", inFolder("setup.json"), "--book", inFolder("a.gripbook"), "--json");
  await opened;
  await play(packets, devices);
  await new Promise((done) => setTimeout(done, 200));
  capture.child.kill("SIGTERM");
  captured = await capture.ended;
});

afterAll(async () => {
  if (whyNoPty !== null) return;
  await Promise.all([devices.gnss.dispose(), devices.can.dispose()]);
  rmSync(folder, { recursive: true, force: true });
});

const ptyTest = test.skipIf(whyNoPty !== null);

ptyTest("an armed capture that nobody touches puts the launch into the book, its gates within 50 ms of the truth", async () => {
  expect(captured.err).toBe("");
  expect(captured.code).toBe(0);
  expect(answerFault("capture", JSON.parse(captured.out))).toBeNull();
  const views = await gripbookJson<RunView[]>("show", "all", "--book", inFolder("a.gripbook"));
  expect(views).toHaveLength(1);
  const [view] = views as [RunView];
  expect(view.run.final).toBe(true);
  expect(view.run.label).toBe("traction control on");
  const truths =
    truth.runs[0]?.gates.filter((gate) => gate.seconds !== null && ["0-30 mph", "0-60 mph", "60 ft"].includes(gate.gate)) ?? [];
  expect(truths.length).toBeGreaterThanOrEqual(3);
  for (const { gate, start, seconds } of truths) {
    const measured = view.gates.find((other) => other.gate === gate && other.start === start);
    expect(Math.abs((measured?.seconds ?? Number.NaN) - (seconds as number)), `${gate} from ${start}`).toBeLessThan(WITHIN_S);
  }
});

ptyTest("bytes on the wires: only listening commands to the adapter, none to the receiver", () => {
  expect(devices.can.written.toString("latin1")).toMatch(SAFE);
  expect(devices.can.written.toString("latin1")).toMatch(/L\rC\r$/);
  expect(devices.gnss.written).toHaveLength(0);
});

ptyTest("the book is sound, and derived equals journal", async () => {
  const { code, out, err } = await gripbook("check", "--book", inFolder("a.gripbook"));
  expect(out + err).toMatch(/^Sound: 1 recordings, 1 runs/);
  expect(code).toBe(0);
});

ptyTest("the final run is the same to the byte from live bytes, the exported journal, and derived again", async () => {
  const live = await gripbookJson<RunView>("show", "1", "--book", inFolder("a.gripbook"));
  const uid = live.run.uid;
  for (const format of ["slcan", "nmea"])
    await gripbook("export", "all", "--book", inFolder("a.gripbook"), "--as", format, "--out", inFolder("logs"));
  const logs = ["--slcan", inFolder("logs/recording-1.slcan"), "--gnss", inFolder("logs/recording-1.nmea")];
  await gripbookJson("import", "--setup", inFolder("setup.json"), "--book", inFolder("b.gripbook"), ...logs);
  const imported = await gripbookJson<RunView>("show", "1", "--book", inFolder("b.gripbook"));
  expect(comparable(imported)).toBe(comparable(live));
  await gripbookJson("rederive", "--book", inFolder("a.gripbook"));
  const again = await gripbookJson<RunView>("show", "1", "--book", inFolder("a.gripbook"));
  expect(comparable(again)).toBe(comparable(live));
  expect(again.run.uid).toBe(uid);
  await gripbookJson("rederive", "--book", inFolder("b.gripbook"), "--recalibrate");
  expect(comparable(await gripbookJson<RunView>("show", "1", "--book", inFolder("b.gripbook")))).toBe(comparable(live));
  for (const book of ["a", "b"])
    await gripbook("export", "1", "--book", inFolder(`${book}.gripbook`), "--as", "csv", "--out", inFolder(`${book}.csv`));
  expect(readFileSync(inFolder("b.csv"), "utf8")).toBe(readFileSync(inFolder("a.csv"), "utf8"));
});

ptyTest("merging the book of the exported logs adds nothing that is there already", async () => {
  const merged = await gripbookJson<{ runs: number; alreadyHere: number }>(
    "merge",
    inFolder("b.gripbook"),
    "--book",
    inFolder("a.gripbook"),
  );
  expect(merged).toMatchObject({ runs: 0, alreadyHere: 1 });
});
