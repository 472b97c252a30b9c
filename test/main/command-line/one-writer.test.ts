/**
 * Only one process writes a book: a reader beside the first simulated day, a second start, and a second capture through a link. The second
 * one must not write to a port.
 */
import { type ChildProcess, fork } from "node:child_process";
import { mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { carSetUp, carSignalFile } from "../../../src/shared/simulation/car-files.ts";
import { createPtyDevice, whyNoPty } from "../../support/pty-device.ts";
import { gripbook } from "../../support/run-gripbook.ts";

const INGEST = fileURLToPath(new URL("../../../src/main/ingest/ingest-process.ts", import.meta.url));
const PATIENCE_MS = 300_000;
const REFUSED = /^Book .*: another Gripbook records into it; close that one or name another book\n$/;

if (whyNoPty !== null) console.warn(`skipped: a second capture through a link: ${whyNoPty}`);

let folder = "";
const children: ChildProcess[] = [];
const inFolder = (name: string) => join(folder, name);
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  for (const child of children.splice(0)) child.kill("SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

function ingest(file: string) {
  const child = fork(INGEST, ["--book", file, "--simulated"], { serialization: "advanced", stdio: ["ignore", "ignore", "pipe", "ipc"] });
  children.push(child);
  let said = "";
  let words: unknown;
  child.stderr?.setEncoding("utf8").on("data", (text: string) => {
    said += text;
  });
  child.on("message", (message: { event?: { event: string; words: unknown } }) => {
    if (message.event?.event === "work") words = message.event.words;
  });
  const ended = new Promise<{ code: number | null; said: string }>((done) => child.once("close", (code) => done({ code, said })));
  return { child, ended, words: () => words };
}

test(
  "runs, check and a second start beside the first simulated day leave it alone, and the day ends whole",
  async () => {
    const file = inFolder("a.gripbook");
    const day = ingest(file);
    await expect.poll(day.words, { timeout: PATIENCE_MS }).toMatch(/^Driving a simulated day/);
    const second = ingest(file);
    expect(await gripbook("runs", "--book", file)).toEqual({ code: 0, out: "No runs in this book yet.\n", err: "" });
    expect(await second.ended).toEqual({ code: 1, said: expect.stringMatching(REFUSED) });
    await expect.poll(day.words, { timeout: PATIENCE_MS }).toBe(null);
    day.child.send({ kind: "close" });
    expect(await day.ended).toEqual({ code: 0, said: "" });
    const book = openSqliteBook({ file, create: false });
    const [recording] = book.recordings();
    expect(recording).toMatchObject({ state: "closed", derived: true });
    expect(book.runsOf(recording?.id ?? 0)).toHaveLength(12);
    expect(book.journalFaults(recording?.id ?? 0)).toEqual([]);
    book.close();
    expect(await gripbook("rederive", "--book", file)).toMatchObject({ code: 0, err: "" });
  },
  2 * PATIENCE_MS,
);

test.skipIf(whyNoPty !== null)(
  "a second capture through a link is refused before it opens a port",
  async () => {
    const book = openSqliteBook({ file: inFolder("a.gripbook"), create: true });
    expect(book.own()).toBe(true);
    symlinkSync(inFolder("a.gripbook"), inFolder("link.gripbook"));
    const device = await createPtyDevice();
    await device.plug();
    try {
      const sources = { can: { port: device.path, baud: 115200, bitrate: 500000, adapterClock: true } };
      const setUp = carSetUp({ frontWheelSensors: true, rearWheelSensors: true, stamps: true });
      writeFileSync(inFolder("setup.json"), JSON.stringify({ ...setUp, sources }));
      writeFileSync(inFolder("car.dbc"), carSignalFile());
      const given = ["capture", "--setup", inFolder("setup.json"), "--book", inFolder("link.gripbook"), "--seconds", "3"];
      expect(await gripbook(...given)).toEqual({ code: 1, out: "", err: expect.stringMatching(REFUSED) });
      expect(device.written).toHaveLength(0);
    } finally {
      await device.dispose();
      book.close();
    }
  },
  PATIENCE_MS,
);
