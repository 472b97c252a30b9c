/** The MCAP file of many runs: written while they are read, one after the other; nothing is left where that fails. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { writeMcap } from "../../../../src/main/adapters/files/mcap-file.ts";
import type { McapRun } from "../../../../src/main/ports/mcap-run.ts";
import { readMcap } from "../../../support/mcap-records.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-mcap-file-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const ROWS = 1500;
/** Digits that no compression takes away. */
const digits = (seed: number, row: number) => Math.sin(seed * 7919 + row) * 1e5;

function runOf(id: number, more: Partial<McapRun> = {}, name = "pedalPercent"): McapRun {
  const timeS = Float64Array.from({ length: ROWS }, (_, row) => row / 100 - 2);
  const columns = [timeS, ...[1, 2, 3, 4].map((c) => timeS.map((_, row) => digits(id * 10 + c, row)))];
  const figure = { value: Number.NaN, plusMinus95: Number.NaN, from: "unknown" as const };
  return {
    car: null,
    movementUtcMs: Date.UTC(2031, 4, 4) + id * 60_000,
    byReceiver: true,
    softwareVersion: "0.1.0",
    table: { names: ["timeS", "groundSpeedKmh", "distanceM", "slipRatio", name], units: ["s", "km/h", "m", "", "%"], columns },
    view: {
      run: {
        ...{ id, uid: `run${id}`, final: true, label: "", startedAt: null, courseDeg: null, flags: [], use: true, note: "" },
        ...{ conditions: {}, measured: {}, windowFromS: 0, windowToS: 15 },
      },
      ...{ gates: [], slip: { peakSlipSpeedKmh: null, peakSlipRatio: null, secondsAbove10Percent: null }, moments: [] },
      calibration: { id: 0, rollingRadiusM: figure, gnssDelayS: figure, notes: [] },
    },
    ...more,
  };
}

const write = (runs: Iterable<McapRun>, signal = new AbortController().signal) =>
  writeMcap({ file: join(folder, "day.mcap"), over: "nothing", softwareVersion: "0.1.0", signal }, runs);

test("each run is on disk before the next but a few is read: none is kept", async () => {
  const sizes: number[] = [];
  await write(
    (function* () {
      for (let id = 1; id <= 60; id += 1) {
        const [part] = readdirSync(folder);
        sizes.push(statSync(join(folder, part as string)).size);
        yield runOf(id);
      }
    })(),
  );
  // A chunk is 1 MiB of messages, and a run here more than a tenth of it: twelve runs fill one.
  for (let i = 12; i < sizes.length; i += 1) expect(sizes[i]! - sizes[i - 12]!).toBeGreaterThan(12 * ROWS * 4 * 3);
  const { messages, metadata, schemas } = readMcap(readFileSync(join(folder, "day.mcap")));
  expect(messages).toHaveLength(60 * ROWS);
  expect([metadata.size, schemas.size]).toEqual([60, 1]);
});

test("runs with other columns or units have a schema of another name", async () => {
  await write([runOf(1), runOf(2, {}, "undrivenWheelSpeeds.0"), runOf(3)]);
  const { schemas, channels } = readMcap(readFileSync(join(folder, "day.mcap")));
  expect([...schemas.values()].map(({ name }) => name)).toEqual(["gripbook.moment", "gripbook.moment_2"]);
  expect([...channels.values()].map(({ schema }) => schema)).toEqual([1, 2, 1]);
});

test.each<[what: string, said: RegExp, runs: () => Iterable<McapRun>]>([
  [
    "a run that cannot be read",
    /^Run 2 is damaged$/,
    function* () {
      yield runOf(1);
      throw new Error("Run 2 is damaged");
    },
  ],
  [
    "a start before 1970",
    /^Run 2: its start is no time after 1970, which MCAP cannot hold; export it as csv$/,
    () => [runOf(1), runOf(2, { movementUtcMs: -1e6 })],
  ],
  ["a start that is no number", /^Run 2: its start is no time/, () => [runOf(1), runOf(2, { movementUtcMs: Number.NaN })]],
])("%s is one line, and leaves no file", async (_, said, runs) => {
  await expect(write(runs())).rejects.toThrow(said);
  expect(readdirSync(folder)).toEqual([]);
});

test("stopped between two runs it leaves no file", async () => {
  const stop = new AbortController();
  const runs = function* () {
    yield runOf(1);
    stop.abort();
    yield runOf(2);
    throw new Error("a run was read after the stop");
  };
  await expect(write(runs(), stop.signal)).rejects.toThrow("Stopped: nothing was written");
  expect(readdirSync(folder)).toEqual([]);
});
