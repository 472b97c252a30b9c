/**
 * What deriving holds doesn't grow with the recording: buffers (process.memoryUsage, "arrayBuffers") after a collection, at every step, of a recording and
 * of one three times as long, in one process. The outside reference is Node's own count of what is held.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { settleSteps } from "../../../../src/main/core/deriving/settle.ts";
import type { Packet } from "../../../../src/shared/pipeline/packet.ts";
import { STANDARD_GATES } from "../../../../src/shared/launch/gate.ts";
import { carSetUp, carSignalFile } from "../../../../src/shared/simulation/car-files.ts";
import { nmeaSentence } from "../../../support/nmea.ts";
import { START } from "../../adapters/sqlite/book-run.fixture.ts";

setFlagsFromString("--expose-gc");
const collect = runInNewContext("gc") as () => void;

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const SET_UP = JSON.stringify(carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true }));
const ASCII = new TextEncoder();

const two = (value: number) => String(Math.floor(value)).padStart(2, "0");

/** One second of a car that stands: the motor's message a hundred times, the receiver's sentence ten times. */
function secondOf(s: number): Packet[] {
  const packets: Packet[] = [];
  for (let i = 0; i < 10; i += 1) {
    const ms = 1000 * s + 100 * i;
    const frames = Array.from(
      { length: 10 },
      (_, k) => `t1A0800000000000000002A`.slice(0, -4) + ((ms + 10 * k) % 60_000).toString(16).toUpperCase().padStart(4, "0"),
    );
    packets.push({ stream: "can", arrivalNs: (ms + 1) * 1e6, bytes: ASCII.encode(`${frames.join("\r")}\r`) });
    const time = `${two(10 + s / 3600)}${two((s / 60) % 60)}${two(s % 60)}.${i}0`;
    packets.push({
      stream: "gnss",
      arrivalNs: (ms + 60) * 1e6,
      bytes: ASCII.encode(nmeaSentence(`GNRMC,${time},A,3000.126016,S,02000.203887,W,0.02,,040531,,,A`)),
    });
  }
  return packets;
}

const LOOK_EVERY = 0.03;

function* sharesOf(steps: Iterator<number, unknown>): Generator<number> {
  for (let step = steps.next(); step.done !== true; step = steps.next()) yield step.value;
}

/** Greatest bytes of buffers that deriving held. */
function mostHeld(seconds: number): number {
  const book = openSqliteBook({ file: join(folder, `${seconds}.gripbook`), create: true });
  try {
    const { id } = book.startRecording({ ...START, setUp: { text: SET_UP, signalFiles: [{ name: "car.dbc", text: carSignalFile() }] } });
    book.transaction(() => {
      for (let s = 0; s < seconds; s += 1) book.append(id, { packets: secondOf(s), marks: [], gaps: [], clock: [] });
    });
    book.closeRecording(id, "closed");
    collect();
    const before = process.memoryUsage().arrayBuffers;
    let [most, lookedAt] = [0, 0];
    for (const share of sharesOf(settleSteps(book, id, { gates: STANDARD_GATES, recalibrate: true }))) {
      if (share - lookedAt < LOOK_EVERY) continue;
      lookedAt = share;
      // What the first finds is freed beside it, and surely before the second ends.
      collect();
      collect();
      most = Math.max(most, process.memoryUsage().arrayBuffers - before);
    }
    return most;
  } finally {
    book.close();
  }
}

test("deriving a recording three times as long holds no more of it", () => {
  const once = mostHeld(1500);
  expect(once).toBeGreaterThan(1e6);
  // Columns widen by 1.4 at a time, and what waits to be collected counts: 1.2 to 1.9 here, 3.3 where all of it was held.
  expect(mostHeld(3 * 1500) / once).toBeLessThan(2.4);
});
