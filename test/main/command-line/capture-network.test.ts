/**
 * The whole way of a launch over the other sources: the simulated car's receiver over TCP through socat, its bus as candump's lines with the
 * kernel's stamps by the stand-in on PATH; captured by the real command, checked, and derived again. Truth: the simulator's own.
 */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { FrameBatch } from "../../../src/shared/frames/frame-batch.ts";
import { createSlcanParser } from "../../../src/shared/frames/slcan-parser.ts";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { readPlan } from "../../../src/shared/simulation/read-plan.ts";
import { type DayTruth, simulateDay } from "../../../src/shared/simulation/simulate-day.ts";
import { canLink, createFakeCandump, type FakeCandump } from "../../support/fake-candump.ts";
import { freeTcpPort, type NetSender, startNetSender } from "../../support/net-sender.ts";
import { whyNoPty } from "../../support/pty-device.ts";
import { gripbook, gripbookJson, type Ran, startGripbook } from "../../support/run-gripbook.ts";

if (whyNoPty !== null) console.warn(`skipped: capture over TCP and candump: ${whyNoPty}`);
const socatTest = test.skipIf(whyNoPty !== null);

const SEED = 3;
/** As for the ports (capture.test.ts). */
const WITHIN_S = 0.05;
const PATH = process.env.PATH;

interface Due {
  readonly atUs: number;
  readonly gnss: Uint8Array | null;
  /** candump's line for a time of the wall clock at 0, s. */
  readonly can: ((wallAtZeroS: number) => string) | null;
}

/** The day's packets; a frame's line carries its adapter's stamp as the kernel's. */
function drive(): { dues: Due[]; truth: DayTruth } {
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
  const parser = createSlcanParser();
  const batch = new FrameBatch();
  const dues: Due[] = [];
  let originMs = Number.NaN;
  for (const { stream, arrivalUs, bytes } of day.packets) {
    if (stream === "gnss") {
      dues.push({ atUs: arrivalUs, gnss: bytes, can: null });
      continue;
    }
    batch.clear();
    parser.push(bytes, arrivalUs * 1000, batch);
    for (let row = 0; row < batch.length; row++) {
      if (Number.isNaN(originMs)) originMs = (batch.adapterMs[row] ?? 0) - arrivalUs / 1000;
      const id = (batch.id[row] ?? 0).toString(16).padStart(batch.flags[row] === 1 ? 8 : 3, "0");
      const data = Array.from({ length: batch.byteLength[row] ?? 0 }, (_, i) => batch.byteAt(row, i).toString(16).padStart(2, "0")).join(
        "",
      );
      const sinceS = ((batch.adapterMs[row] ?? 0) - originMs) / 1000;
      dues.push({
        atUs: arrivalUs,
        gnss: null,
        can: (wallAtZeroS) => `(${(wallAtZeroS + sinceS).toFixed(6)}) can0 ${id.toUpperCase()}#${data.toUpperCase()}\n`,
      });
    }
  }
  return { dues, truth: day.truth() };
}

let folder = "";
let candump: FakeCandump;
let receiver: NetSender;
let truth: DayTruth;
let captured: Ran;
const inFolder = (name: string) => join(folder, name);

beforeAll(async () => {
  if (whyNoPty !== null) return;
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  candump = await createFakeCandump();
  candump.link(canLink([]));
  process.env.PATH = `${candump.folder}:${PATH ?? ""}`;
  const port = await freeTcpPort();
  receiver = await startNetSender(`TCP-LISTEN:${port},reuseaddr`);
  const setUp = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
  const sources = { gnss: { tcp: `127.0.0.1:${port}` }, can: { socketcan: "can0" } };
  writeFileSync(inFolder("setup.json"), JSON.stringify({ ...setUp, sources }));
  writeFileSync(inFolder("car.dbc"), carSignalFile());
  const { dues, ...driven } = drive();
  truth = driven.truth;
  const capture = startGripbook("capture", "--setup", inFolder("setup.json"), "--book", inFolder("a.gripbook"), "--json");
  while (!candump.runs) await new Promise((done) => setTimeout(done, 20));
  const startMs = performance.now();
  const wallAtZeroS = Date.now() / 1000;
  for (let next = 0; next < dues.length; ) {
    const nowUs = (performance.now() - startMs) * 1000;
    let lines = "";
    for (let due = dues[next]; due !== undefined && due.atUs <= nowUs; due = dues[++next]) {
      if (due.gnss !== null) receiver.write(due.gnss);
      if (due.can !== null) lines += due.can(wallAtZeroS);
    }
    if (lines !== "") candump.write(lines);
    await new Promise((done) => setTimeout(done, 1));
  }
  await new Promise((done) => setTimeout(done, 200));
  capture.child.kill("SIGTERM");
  captured = await capture.ended;
});

afterAll(async () => {
  if (whyNoPty !== null) return;
  process.env.PATH = PATH;
  await receiver.stop();
  await candump.dispose();
  rmSync(folder, { recursive: true, force: true });
});

socatTest(
  "the launch is in the book, its gates within 50 ms of the truth, by the kernel's stamps; an interface that acknowledges is said",
  async () => {
    expect(captured.err).toMatch(/CAN interface can0 does not only listen/);
    expect(captured.code).toBe(0);
    const views = await gripbookJson<RunView[]>("show", "all", "--book", inFolder("a.gripbook"));
    expect(views).toHaveLength(1);
    const [view] = views as [RunView];
    expect(view.run.final).toBe(true);
    const truths =
      truth.runs[0]?.gates.filter((gate) => gate.seconds !== null && ["0-30 mph", "0-60 mph", "60 ft"].includes(gate.gate)) ?? [];
    expect(truths.length).toBeGreaterThanOrEqual(3);
    for (const { gate, start, seconds } of truths) {
      const measured = view.gates.find((other) => other.gate === gate && other.start === start);
      expect(Math.abs((measured?.seconds ?? Number.NaN) - (seconds as number)), `${gate} from ${start}`).toBeLessThan(WITHIN_S);
    }
  },
);

socatTest("nothing was written to the receiver, and candump alone was started, to listen", () => {
  expect(receiver.written).toHaveLength(0);
  expect(candump.starts()).toEqual(["-L -d can0"]);
});

socatTest("the book is sound, and the run derived again is the same to the byte", async () => {
  const { code, out, err } = await gripbook("check", "--book", inFolder("a.gripbook"));
  expect(out + err).toMatch(/^Sound: 1 recordings, 1 runs; every final run is what its journal gives/m);
  expect(code).toBe(0);
  const live = await gripbookJson<RunView>("show", "1", "--book", inFolder("a.gripbook"));
  await gripbookJson("rederive", "--book", inFolder("a.gripbook"));
  expect(await gripbookJson<RunView>("show", "1", "--book", inFolder("a.gripbook"))).toEqual(live);
});
