/**
 * No look at a book that is open drops this process's locks on it: sqlite.org/howtocorrupt.html, 2.2. The outside reference is the kernel's own list of
 * locks, /proc/locks (proc(5)).
 */
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync, statSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { readHappened } from "../../../src/main/adapters/host/happened-thread.ts";
import { startTuningThread } from "../../../src/main/adapters/host/tuning-thread.ts";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { checkPlace } from "../../../src/main/disk/place.ts";
import { readPlainFile } from "../../../src/main/disk/read-file.ts";
import type { Book } from "../../../src/main/ports/book.ts";

let folder = "";
let file = "";
let book: Book;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  file = join(folder, "a.gripbook");
  book = openSqliteBook({ file, create: true });
  book.own();
});
afterEach(() => {
  book.close();
  rmSync(folder, { recursive: true, force: true });
});

/** This process's locks on a file, as the kernel lists them: "1: POSIX ADVISORY READ 4711 fd:00:1234 0 10". */
function locksOn(path: string): string[] {
  const { ino } = statSync(path);
  return readFileSync("/proc/locks", "utf8")
    .split("\n")
    .map((line) => line.trim().split(/\s+/))
    .filter((parts) => parts[4] === String(process.pid) && parts[5]?.endsWith(`:${ino}`))
    .map((parts) => parts.slice(3).join(" "))
    .sort();
}

const withLocks = process.platform === "linux" ? test : test.skip;

withLocks("the kernel's list shows locks, and that closing another descriptor drops them: this test can fail", () => {
  expect(locksOn(file)).not.toEqual([]);
  closeSync(openSync(file, "r"));
  expect(locksOn(file)).toEqual([]);
});

withLocks.each([
  ["the book as a place to write to", "a.gripbook", checkPlace],
  ["its log as a place to write to", "a.gripbook-wal", checkPlace],
  ["its index as a place to write to", "a.gripbook-shm", checkPlace],
  ["its lock as a place to write to", "a.gripbook-owner", checkPlace],
  ["the book by a link", "link", checkPlace],
  ["the book as a set-up", "a.gripbook", read],
  ["the book by a link as a set-up", "link", read],
  ["its index as a set-up", "a.gripbook-shm", read],
  ["its lock as a set-up", "a.gripbook-owner", read],
] as const)("%s is refused without touching its locks", (_what, name, look) => {
  symlinkSync(file, join(folder, "link"));
  const all = () => ["", "-shm", "-owner"].map((end) => locksOn(`${file}${end}`));
  const before = all();
  expect(before.flat()).not.toEqual([]);
  expect(() => look(join(folder, name), "plain")).toThrow(/is a book|belongs to|is a link|that is open here/);
  expect(all()).toEqual(before);
});

withLocks(
  "threads that read the book on connections of their own leave this one's locks: all threads of a process share them",
  async () => {
    const before = locksOn(file);
    const tuning = startTuningThread(book);
    await tuning.read({});
    tuning.close();
    expect(locksOn(file)).toEqual(before);
    expect(await readHappened({ bookFile: file, software: "1", utcUs: 0, withPositions: false })).toContain(`Book ${file}`);
    expect(locksOn(file)).toEqual(before);
  },
);

function read(path: string): void {
  readPlainFile({ file: path, what: "Set-up" }, 1e9);
}
