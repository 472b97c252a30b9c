/**
 * A power cut, as far as a process can imitate it: killed, and every write that was not synced is lost (unsynced.c, preloaded into the
 * capture).
 */
import { spawn, spawnSync } from "node:child_process";
import { copyFileSync, existsSync, mkdirSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { whyNoPty } from "../support/pty-device.ts";
import { type Fault, pause, type Tried, until } from "./fault.ts";
import { FRAME_BYTES, faultsOf, firstUnread, holesIn, startWiredBus, storedNumbers, type WiredBus } from "./wired-bus.ts";

const SOURCE = fileURLToPath(new URL("unsynced.c", import.meta.url));
const GRIPBOOK = fileURLToPath(new URL("../../src/main/command-line/gripbook.ts", import.meta.url));
const COMPILER = "cc";
const whyNot =
  process.platform !== "linux"
    ? "taking back what was not synced needs Linux"
    : spawnSync(COMPILER, ["--version"]).error !== undefined
      ? "a C compiler (cc) is not installed"
      : whyNoPty;

/** A block is synced at the latest when it is this old (docs/design.md), the first one too. */
const MOST_BEFORE_FIRST_MS = 250;

/** Copies of a book's files as they were when last synced. */
function cutBook(bookFile: string, into: string): string {
  mkdirSync(into);
  const file = join(into, "day.gripbook");
  for (const ending of ["", "-wal"])
    if (existsSync(`${bookFile}${ending}.synced`)) copyFileSync(`${bookFile}${ending}.synced`, `${file}${ending}`);
  return file;
}

interface Cut {
  readonly lostMs: number;
  /** Of what had been read. */
  readonly readMs: number;
  readonly wrong: readonly string[];
}

async function cutOnce(bus: WiredBus, shim: string, random: ReturnType<typeof createRandom>): Promise<Cut> {
  const child = spawn(process.execPath, [GRIPBOOK, "capture", "--setup", bus.setUpFile, "--book", bus.bookFile], {
    env: { ...process.env, LD_PRELOAD: shim },
    stdio: "ignore",
  });
  const gone = new Promise((done) => child.once("close", done));
  try {
    await until(() => bus.opened > 0 && bus.sentSinceOpened > 400, "frames flow");
    await pause(random.between(0, 900));
    const sent = bus.sent;
    child.kill("SIGKILL");
    await gone;
    const unread = await firstUnread(bus, sent);
    const file = cutBook(bus.bookFile, join(bus.folder, "after-the-cut"));
    const numbers = storedNumbers(file).flat();
    const next = (numbers.at(-1) ?? -1) + 1;
    const readMs = Math.max(0, unread - next);
    const wrong = [
      ...faultsOf(file),
      ...(holesIn(numbers) > 0 ? ["a hole"] : []),
      ...(numbers.length === 0 && readMs > MOST_BEFORE_FIRST_MS ? ["nothing is left"] : []),
    ];
    return { lostMs: sent - next, readMs, wrong };
  } finally {
    child.kill("SIGKILL");
  }
}

async function cuts(times: number): Promise<Tried> {
  const random = createRandom(31, "cuts");
  const wrong: string[] = [];
  let [lostMs, readMs] = [0, 0];
  for (let i = 0; i < times; i += 1) {
    const bus = await startWiredBus();
    try {
      const shim = join(bus.folder, "unsynced.so");
      const made = spawnSync(COMPILER, ["-shared", "-fPIC", "-o", shim, SOURCE, "-ldl"], { encoding: "utf8" });
      if (made.status !== 0) throw new Error(`unsynced.c does not compile: ${made.stderr}`);
      const cut = await cutOnce(bus, shim, random);
      lostMs = Math.max(lostMs, cut.lostMs);
      readMs = Math.max(readMs, cut.readMs);
      wrong.push(...cut.wrong.map((line) => `cut ${i + 1}: ${line}`));
    } finally {
      await bus.end();
    }
  }
  return {
    times,
    lostBytes: lostMs * FRAME_BYTES,
    lostMs,
    seen: `closed as interrupted at the next start. Read and not synced: ${readMs} ms at most; the rest waited to be read`,
    wrong,
  };
}

export const powerCuts: readonly Fault[] = [
  {
    name: "a power cut: killed, and what was not synced is lost",
    promise: "the book opens with everything up to the last sync, without a hole",
    whole: 40,
    short: 1,
    alone: false,
    whyNot,
    run: cuts,
  },
];
