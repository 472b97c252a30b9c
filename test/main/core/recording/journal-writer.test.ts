/** What the journal keeps when its process is killed, its disk is full or its folder is read-only. Promise: docs/design.md, the book. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { createJournalWriter } from "../../../../src/main/core/recording/journal-writer.ts";
import { BookError, type Book, type JournalEntry } from "../../../../src/main/ports/book.ts";
import { createSmallDrive, whyNoDrive } from "../../../support/small-drive.ts";
import { killRecorder } from "../../../support/kill-recorder.ts";

/** docs/design.md: a killed process loses at most 250 ms of bytes. */
const MOST_LOST_MS = 250;

let folder = "";
const home = process.env.HOME;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  if (home === undefined) delete process.env.HOME;
  else process.env.HOME = home;
  rmSync(folder, { recursive: true, force: true });
});

const packet = (ms: number, length = 22) => ({ stream: "can" as const, arrivalNs: ms * 1e6, bytes: new Uint8Array(length) });

test("killed at any moment, the book opens sound and at most 250 ms are lost", async () => {
  const file = join(folder, "killed.gripbook");
  for (const afterMs of [3, 61, 140, 333]) {
    const { lostMs, faults } = await killRecorder(file, afterMs);
    expect(faults).toEqual([]);
    expect(lostMs).toBeLessThanOrEqual(MOST_LOST_MS);
  }
});

const START = {
  origin: "live",
  baseUtcUs: 1_936_000_000_000_000,
  canFormat: "slcan",
  setUp: { text: "{}", signalFiles: [] },
} as const;

test("journalWriter has what arrived in the book long before its block is full, and once only when it is", () => {
  const file = join(folder, "drafts.gripbook");
  const book = openSqliteBook({ file, create: true });
  book.own();
  const { id } = book.startRecording({ uid: "drafts", ...START });
  const journal = createJournalWriter({ book, recording: id, onTrouble: (text) => expect(text).toBeNull() });
  // Another connection sees what a killed process would leave behind.
  const after = openSqliteBook({ file, create: false });
  const missing: number[] = [];
  for (let ms = 0; ms < 1000; ms += 1) {
    journal.packet(packet(ms));
    if (ms % 5 !== 0) continue;
    journal.beat(ms * 1e6);
    missing.push(ms + 1 - [...after.packets(id)].length);
  }
  journal.flush();
  expect(Math.max(...missing)).toBeLessThanOrEqual(40);
  expect([...after.packets(id)].map(({ arrivalNs }) => arrivalNs / 1e6)).toEqual(Array.from({ length: 1000 }, (_, ms) => ms));
  expect(after.journalFaults(id)).toEqual([]);
  after.close();
  book.close();
});

test("journalWriter stores what a process that stood still finds waiting as soon as it is read, and not at its next beat", () => {
  const file = join(folder, "stood.gripbook");
  const book = openSqliteBook({ file, create: true });
  book.own();
  const { id } = book.startRecording({ uid: "stood", ...START });
  const journal = createJournalWriter({ book, recording: id, onTrouble: (text) => expect(text).toBeNull() });
  const after = openSqliteBook({ file, create: false });
  for (const ms of [0, 50, 350, 700]) {
    journal.packet(packet(ms));
    expect([...after.packets(id)].at(-1)?.arrivalNs).toBe(ms * 1e6);
  }
  expect(after.journalFaults(id)).toEqual([]);
  after.close();
  book.close();
});

test("reading while a block still grows leaves no hole: it ends with the block that was the last when it began", () => {
  const book = openSqliteBook({ file: join(folder, "grows.gripbook"), create: true });
  book.own();
  const { id } = book.startRecording({ uid: "grows", ...START });
  const of = (from: number, to: number) => Array.from({ length: to - from }, (_, i) => packet(from + i));
  const entry = (packets: ReturnType<typeof of>) => ({ packets, marks: [], gaps: [], clock: [] });
  book.append(id, entry(of(0, 10)));
  book.draft(id, of(10, 15));
  const reading = book.packets(id)[Symbol.iterator]();
  const read = Array.from({ length: 15 }, () => reading.next().value?.arrivalNs);
  book.append(id, entry(of(10, 20)));
  book.append(id, entry(of(20, 30)));
  for (let next = reading.next(); next.done !== true; next = reading.next()) read.push(next.value.arrivalNs);
  expect(read).toEqual(of(0, 15).map(({ arrivalNs }) => arrivalNs));
  expect([...book.packets(id)]).toHaveLength(30);
  book.close();
});

test("what a draft holds comes in once where the rest of its block was kept aside", () => {
  process.env.HOME = folder;
  const file = join(folder, "full.gripbook");
  const book = openSqliteBook({ file, create: true });
  book.own();
  const { id } = book.startRecording({ uid: "full", ...START });
  let full = false;
  const failing = { ...book };
  for (const name of ["append", "draft"] as const)
    failing[name] = (...given: [number, never]) => {
      if (full) throw new BookError("full", "Book a: the disk is full; free some space");
      book[name](...given);
    };
  const journal = createJournalWriter({ book: failing, recording: id, onTrouble: () => undefined });
  for (let ms = 0; ms < 700; ms += 1) {
    full = ms > 300;
    journal.packet(packet(ms));
    journal.beat(ms * 1e6);
  }
  expect([...book.packets(id)].length).toBeGreaterThan(281);
  book.close();
  const after = openSqliteBook({ file, create: false });
  after.own();
  expect(after.takeBack(id)).toMatchObject({ damaged: 0 });
  const stored = [...after.packets(id)].map(({ arrivalNs }) => arrivalNs / 1e6);
  expect(stored.length).toBeGreaterThan(550);
  expect(stored).toEqual(Array.from({ length: stored.length }, (_, ms) => ms));
  expect(after.journalFaults(id)).toEqual([]);
  after.close();
});

/** A stand-in for a book whose disk fills up and is freed again, on a computer with no other place; it has only what the writer calls. */
function bookThatFails(): { book: Book; stored: JournalEntry[]; full: boolean } {
  const state = { stored: [] as JournalEntry[], full: false, book: null as unknown as Book };
  const take = (entry: JournalEntry | null) => {
    if (state.full) throw new BookError("full", "Book a: the disk is full; free some space");
    if (entry !== null) state.stored.push(entry);
  };
  state.book = {
    append: (_id: number, entry: JournalEntry) => take(entry),
    draft: () => take(null),
    keepAside() {
      throw new BookError("full", "no other place can be written either");
    },
  } as unknown as Book;
  return state;
}

test("journalWriter commits blocks of at most 150 ms however late it is called", () => {
  const failing = bookThatFails();
  const journal = createJournalWriter({ book: failing.book, recording: 1, onTrouble: () => undefined });
  for (let ms = 0; ms < 2000; ms += 7) journal.packet(packet(ms));
  journal.beat(2.2e9);
  expect(failing.stored.length).toBeGreaterThan(10);
  for (const { packets } of failing.stored)
    expect(((packets.at(-1)?.arrivalNs ?? 0) - (packets[0]?.arrivalNs ?? 0)) / 1e6).toBeLessThanOrEqual(150);
  expect(failing.stored.flatMap((entry) => entry.packets)).toHaveLength(286);
});

test("journalWriter holds bytes while the drive is full, says so once a second, and stores them all when it is freed", () => {
  const failing = bookThatFails();
  const said: (string | null)[] = [];
  const journal = createJournalWriter({ book: failing.book, recording: 1, onTrouble: (text) => said.push(text) });
  failing.full = true;
  for (let ms = 0; ms < 3000; ms += 10) {
    journal.packet(packet(ms));
    journal.beat(ms * 1e6);
  }
  expect(said.length).toBe(3);
  expect(said[0]).toMatch(/the disk is full; free some space\. Recording goes on, 0\.0 MB are held in memory\.$/);
  failing.full = false;
  journal.flush();
  expect(said.at(-1)).toBeNull();
  expect(failing.stored.flatMap((entry) => entry.packets).map((p) => p.arrivalNs)).toEqual(Array.from({ length: 300 }, (_, i) => i * 10e6));
});

test("journalWriter records the hole with its cause when memory was full too", () => {
  const failing = bookThatFails();
  const said: (string | null)[] = [];
  const journal = createJournalWriter({ book: failing.book, recording: 1, onTrouble: (text) => said.push(text), mostHeldBytes: 1000 });
  failing.full = true;
  for (let ms = 0; ms < 3000; ms += 10) {
    journal.packet(packet(ms));
    journal.beat(ms * 1e6);
  }
  expect(said.at(-1)).toMatch(/memory is full too: NEW BYTES ARE BEING LOST/);
  failing.full = false;
  journal.flush();
  const kept = failing.stored.flatMap((entry) => entry.packets);
  expect(kept.map((p) => p.arrivalNs)).toEqual(kept.map((_, i) => i * 10e6));
  const [gap] = failing.stored.flatMap((entry) => entry.gaps);
  expect(gap).toEqual({
    stream: "can",
    fromNs: kept.length * 10e6,
    toNs: 2990e6,
    cause: "the book could not be written and memory was full: 0.0 MB lost",
  });
});

if (whyNoDrive !== null) console.warn(`skipped: a really full drive: ${whyNoDrive}`);

test.skipIf(whyNoDrive !== null)("a really full drive is told in one line, and what was stored stays readable", async () => {
  const drive = createSmallDrive(folder, 3);
  let child: ChildProcess | null = null;
  try {
    const file = join(drive.folder, "a.gripbook");
    const made = openSqliteBook({ file, create: true });
    made.close();
    writeFileSync(join(drive.folder, "ballast"), Buffer.alloc(2.5 * 2 ** 20));
    child = spawn(process.execPath, [fileURLToPath(new URL("../../../support/journal-victim.ts", import.meta.url)), file], {
      stdio: ["ignore", "ignore", "pipe"],
    });
    let said = "";
    child.stderr?.setEncoding("utf8").on("data", (text: string) => {
      said += text;
    });
    await expect.poll(() => said, { timeout: 120_000 }).toMatch(/a\.gripbook: (the disk is full|the drive failed).*Recording goes on/);
    // Room again: what was held is stored, with no hole.
    drive.free();
    await expect.poll(() => said, { timeout: 120_000 }).toContain("stored again");
    const ending = child;
    const closed = new Promise((done) => ending.once("close", done));
    ending.kill("SIGKILL");
    await closed;
    const book = openSqliteBook({ file, create: false });
    expect(book.integrityFaults()).toEqual([]);
    expect(book.journalFaults(1)).toEqual([]);
    expect([...book.packets(1)].length).toBeGreaterThan(100);
    book.close();
  } finally {
    child?.kill("SIGKILL");
    drive.dispose();
  }
});

const NOBODY = 65534;
test.skipIf(process.platform === "win32")("a read-only folder is told in one line", () => {
  const closed = join(folder, "closed");
  mkdirSync(closed);
  chmodSync(folder, 0o755);
  chmodSync(closed, 0o555);
  // Root is not bound by permissions: the attempt is made as a user without rights.
  const asUser = process.getuid?.() === 0 ? { uid: NOBODY, gid: NOBODY } : {};
  const program = `import { openSqliteBook } from ${JSON.stringify(fileURLToPath(new URL("../../../../src/main/adapters/sqlite/sqlite-book.ts", import.meta.url)))};
    try { openSqliteBook({ file: ${JSON.stringify(join(closed, "a.gripbook"))}, create: true }); } catch (error) { console.log(error.message); }`;
  const { stdout } = spawnSync(process.execPath, ["--input-type=module", "-e", program], { encoding: "utf8", ...asUser });
  expect(stdout.trim()).toMatch(/^Book .*a\.gripbook: cannot be opened in .*closed; check that the folder exists and may be written$/);
});
