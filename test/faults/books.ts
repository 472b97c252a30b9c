/** Faults of the file itself: damaged pages, other schema versions, an import killed and started again, writes lost in a power cut. */
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { createRandom } from "../../src/shared/simulation/random.ts";
import { gripbook, gripbookJson, startGripbook } from "../support/run-gripbook.ts";
import { STORED_VERSIONS, shownBy, unpackBook } from "../support/stored-book.ts";
import { type Fault, lastLine, pause, type Tried } from "./fault.ts";

const PAGE_BYTES = 4096;
const hasStack = (text: string) => /\n\s+at /.test(text);

async function inFolder<T>(work: (folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-faults-"));
  try {
    return await work(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

interface ImportedDay {
  readonly folder: string;
  readonly logs: readonly string[];
  readonly book: string;
}

let made: Promise<ImportedDay> | null = null;
/** Nobody writes to it: each fault works on a copy. Made once a process, which drops it at its end. */
const importedDay = (): Promise<ImportedDay> => {
  made ??= importDay();
  return made;
};

export async function dropImportedDay(): Promise<void> {
  if (made !== null) rmSync((await made).folder, { recursive: true, force: true });
  made = null;
}

/** A drive of two launches as logs, and the book that an undisturbed import makes of it. */
async function importDay(): Promise<ImportedDay> {
  const folder = mkdtempSync(join(tmpdir(), "gripbook-faults-day-"));
  const plan = join(folder, "plan.json");
  writeFileSync(
    plan,
    JSON.stringify({
      segments: [
        { kind: "gentle", seconds: 60 },
        { kind: "launch" },
        { kind: "stand", seconds: 5 },
        { kind: "launch" },
        { kind: "stand", seconds: 5 },
      ],
    }),
  );
  const day = join(folder, "day");
  await gripbook("simulate", "--out", day, "--seed", "5", "--plan", plan);
  const logs = ["--setup", join(day, "setup.json"), "--slcan", join(day, "bus.slcan"), "--gnss", join(day, "receiver.nmea")];
  const book = join(folder, "whole.gripbook");
  await gripbook("import", ...logs, "--book", book);
  return { folder, logs, book };
}

/**
 * What a person sees of a book: every run's figures. The calibration's number counts fits, so a part that was derived first has one of its
 * own.
 */
async function shownRuns(book: string): Promise<string> {
  const runs = await gripbookJson<{ calibration: object }[]>("show", "all", "--book", book);
  return JSON.stringify(runs.map((run) => ({ ...run, calibration: { ...run.calibration, id: 0 } })));
}

async function spoiledPages(times: number): Promise<Tried> {
  return inFolder(async (folder) => {
    const { book } = await importedDay();
    const whole = readFileSync(book);
    const asIs = await shownRuns(book);
    const random = createRandom(60, "pages");
    const wrong: string[] = [];
    let seen = "";
    for (let i = 0; i < times; i += 1) {
      const file = join(folder, `spoiled-${i}.gripbook`);
      const bytes = Buffer.from(whole);
      const page = 1 + Math.floor(random.between(0, whole.length / PAGE_BYTES - 1));
      const at = page * PAGE_BYTES + Math.floor(random.between(0, PAGE_BYTES - 16));
      for (let k = 0; k < 16; k += 1) bytes.writeUInt8((bytes.readUInt8(at + k) ^ 0x5a) & 0xff, at + k);
      writeFileSync(file, bytes);
      const check = await gripbook("check", "--book", file);
      const shown = await gripbook("show", "all", "--book", file, "--json");
      const found = check.code !== 0;
      const same = shown.code === 0 && (await shownRuns(file)) === asIs;
      if (!found && !same) wrong.push(`page ${page}, byte ${at}: what is shown differs and check finds nothing`);
      for (const said of [check.err, check.out, shown.err]) if (hasStack(said)) wrong.push(`page ${page}: a stack trace`);
      if (found) seen = lastLine(check.err || check.out);
      rmSync(file, { force: true });
    }
    return { times, lostBytes: Number.NaN, lostMs: Number.NaN, seen, wrong };
  });
}

async function otherSchemas(times: number): Promise<Tried> {
  return inFolder(async (folder) => {
    const wrong: string[] = [];
    for (const version of STORED_VERSIONS) {
      const file = unpackBook(version, join(folder, `version-${version}.gripbook`));
      const runs = await gripbookJson<unknown[]>("show", "all", "--book", file);
      if (runs.length !== shownBy(version).length)
        wrong.push(`version ${version}: ${runs.length} runs, expected ${shownBy(version).length}`);
    }
    const file = unpackBook(STORED_VERSIONS[0], join(folder, "newer.gripbook"));
    openSqliteBook({ file, create: false }).close();
    const db = new Database(file);
    db.pragma(`user_version = ${(db.pragma("user_version", { simple: true }) as number) + 1}`);
    db.close();
    const { code, err } = await gripbook("runs", "--book", file);
    if (code === 0 || hasStack(err)) wrong.push(`a newer book: exit ${code}, ${lastLine(err)}`);
    return { times, lostBytes: 0, lostMs: Number.NaN, seen: lastLine(err), wrong };
  });
}

async function importKilled(times: number): Promise<Tried> {
  return inFolder(async (folder) => {
    const { logs, book } = await importedDay();
    const asIs = await shownRuns(book);
    const random = createRandom(12, "imports");
    const wrong: string[] = [];
    let seen = "";
    for (let i = 0; i < times; i += 1) {
      const file = join(folder, `killed-${i}.gripbook`);
      const running = startGripbook("import", ...logs, "--book", file);
      await pause(random.between(200, 3000));
      running.child.kill("SIGKILL");
      await running.ended;
      const { code, err } = await gripbook("import", ...logs, "--book", file);
      seen = lastLine(err) || seen;
      // Killed when all was in: the second says so.
      if (code !== 0 && !/in the book already/.test(err)) wrong.push(`kill ${i + 1}: ${lastLine(err)}`);
      else if ((await shownRuns(file)) !== asIs) wrong.push(`kill ${i + 1}: the runs differ from an undisturbed import's`);
      rmSync(file, { force: true });
    }
    return { times, lostBytes: 0, lostMs: Number.NaN, seen, wrong };
  });
}

async function readOnly(times: number): Promise<Tried> {
  return inFolder(async (folder) => {
    const { book } = await importedDay();
    const closed = join(folder, "closed");
    mkdirSync(closed);
    const file = join(closed, "day.gripbook");
    copyFileSync(book, file);
    const { spawnSync } = await import("node:child_process");
    const wrong: string[] = [];
    spawnSync("mount", ["--bind", closed, closed]);
    spawnSync("mount", ["-o", "remount,bind,ro", closed]);
    try {
      const { code, err } = await gripbook("show", "all", "--book", file, "--json");
      if (code === 0 || !/may not be written.*copy it to a folder of your own/.test(err)) wrong.push(`exit ${code}, ${lastLine(err)}`);
      const own = join(folder, "own.gripbook");
      copyFileSync(file, own);
      if ((await gripbook("show", "all", "--book", own, "--json")).code !== 0) wrong.push("the copy cannot be read");
      return { times, lostBytes: 0, lostMs: Number.NaN, seen: lastLine(err), wrong };
    } finally {
      spawnSync("umount", ["-l", closed]);
    }
  });
}

export const books: readonly Fault[] = [
  {
    name: "sixteen bytes of a page damaged",
    promise: "found by check, the rest readable, never a stack trace",
    whole: 60,
    short: 2,
    alone: false,
    whyNot: null,
    run: spoiledPages,
  },
  {
    name: "a book of an older or a newer Gripbook",
    promise: "older read, newer refused in words",
    whole: 1,
    short: 1,
    alone: false,
    whyNot: null,
    run: otherSchemas,
  },
  {
    name: "an import killed and given once more",
    promise: "ends as an undisturbed one",
    whole: 12,
    short: 1,
    alone: false,
    whyNot: null,
    run: importKilled,
  },
  {
    name: "a read-only drive",
    promise: "said as what it is, with the way out; a copy reads",
    whole: 1,
    short: 1,
    alone: false,
    whyNot: process.getuid?.() === 0 ? null : "remounting a folder read-only needs root",
    run: readOnly,
  },
];
