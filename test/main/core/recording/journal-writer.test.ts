/** What the journal keeps when its process is killed, its drive is full or its folder is read-only. Promise: docs/design.md, the book. */
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
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const packet = (ms: number, length = 22) => ({ stream: "can" as const, arrivalNs: ms * 1e6, bytes: new Uint8Array(length) });

test("killed at any moment, the book opens sound and at most 250 ms are lost", async () => {
  const file = join(folder, "killed.gripbook");
  for (const afterMs of [3, 61, 140, 333]) {
    const { lostMs, faults } = await killRecorder(file, afterMs);
    expect(faults).toEqual([]);
    expect(lostMs).toBeLessThanOrEqual(MOST_LOST_MS);
  }
});

/** A stand-in for a book whose drive fills up and is freed again: only what the writer calls is there. */
function bookThatFails(): { book: Book; stored: JournalEntry[]; full: boolean } {
  const state = { stored: [] as JournalEntry[], full: false, book: null as unknown as Book };
  state.book = {
    append(_id: number, entry: JournalEntry) {
      if (state.full) throw new BookError("full", "Book a: the disk is full; free some space");
      state.stored.push(entry);
    },
  } as unknown as Book;
  return state;
}

test("journalWriter commits blocks of at most 150 ms however late it is called", () => {
  const failing = bookThatFails();
  const journal = createJournalWriter({ book: failing.book, recording: 1, onTrouble: () => undefined });
  for (let ms = 0; ms < 2000; ms += 7) journal.packet(packet(ms));
  journal.beat(2e9);
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
    cause: "the book could not be written and memory was full",
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
  // As root, permissions hold nothing back: the attempt is made as a user without rights.
  const asUser = process.getuid?.() === 0 ? { uid: NOBODY, gid: NOBODY } : {};
  const program = `import { openSqliteBook } from ${JSON.stringify(fileURLToPath(new URL("../../../../src/main/adapters/sqlite/sqlite-book.ts", import.meta.url)))};
    try { openSqliteBook({ file: ${JSON.stringify(join(closed, "a.gripbook"))}, create: true }); } catch (error) { console.log(error.message); }`;
  const { stdout } = spawnSync(process.execPath, ["--input-type=module", "-e", program], { encoding: "utf8", ...asUser });
  expect(stdout.trim()).toMatch(/^Book .*a\.gripbook: cannot be opened in .*closed; check that the folder exists and may be written$/);
});
