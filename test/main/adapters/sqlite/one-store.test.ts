/**
 * A book of version 5, which has each sample twice, becomes one that has it once: nothing is lost, and what was damaged before is found after. The
 * outside references are the book as the Gripbook of that time wrote it (test/fixtures/books), plain SQL, and SQLite's list of free pages.
 */
import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, test } from "vitest";
import { createBookOwner } from "../../../../src/main/adapters/sqlite/book-owner.ts";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { unpackBook } from "../../../support/stored-book.ts";

let folder = "";
let file = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  file = unpackBook(5, join(folder, "a.gripbook"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function bySql<T>(work: (db: Database.Database) => T): T {
  const db = new Database(file);
  try {
    return work(db);
  } finally {
    db.close();
  }
}

const rows = (db: Database.Database) => db.prepare("SELECT * FROM sample ORDER BY run, row").raw().all();

/** What the migrated book says of itself. */
function faults(): string[] {
  const book = openSqliteBook({ file, create: false });
  const told = book.integrityFaults();
  book.close();
  return told;
}

test("the rows stay as they are, under seals of their own, and the room of the copies is used again", () => {
  const before = bySql(rows);
  const bytes = statSync(file).size;
  expect(faults()).toEqual([]);
  expect(bySql(rows)).toEqual(before);
  expect(statSync(file).size).toBeLessThanOrEqual(bytes);
  const free = bySql((db) => db.pragma("freelist_count", { simple: true }) as number);
  expect(free * 4096).toBeGreaterThan(bytes / 5);
  const book = openSqliteBook({ file, create: false });
  const [run] = book.runs();
  if (run === undefined) throw new Error("no run");
  const samples = book.samples(run.id);
  for (let i = 0; i < 2; i += 1) book.addRun({ ...run, ...samples, uid: `again-${i}` });
  book.copyTo(join(folder, "copy.gripbook"));
  book.close();
  expect(statSync(file).size).toBe(bytes);
  expect(statSync(join(folder, "copy.gripbook")).size).toBeLessThan(bytes);
});

const SAMPLES_CHANGED = expect.stringMatching(
  /^run 2: its samples are not what was written: damaged, or changed by another program; run rederive/,
);

test.each([
  ["a row that was damaged, its copy still there", "DROP TRIGGER sample_updated; UPDATE sample SET pedal = 3 WHERE run = 2 AND row = 9"],
  ["a row that was changed, its copy dropped", "UPDATE sample SET pedal = 3 WHERE run = 2 AND row = 9"],
  ["a row that was taken away", "DELETE FROM sample WHERE run = 2 AND row = 9"],
  ["a damaged copy", "UPDATE sample_copy SET columns = zeroblob(length(columns)) WHERE run = 2"],
])("%s, before the migration, is told after it, and nothing else", (_, sql) => {
  bySql((db) => db.exec(sql));
  expect(faults()).toEqual([SAMPLES_CHANGED]);
  // And the next time.
  expect(faults()).toEqual([SAMPLES_CHANGED]);
});

test("while an earlier Gripbook records into the book it is not changed, which is said", () => {
  const earlier = createBookOwner(file);
  expect(earlier.own()).toBe(true);
  expect(() => openSqliteBook({ file, create: false })).toThrow(
    `Book ${file}: an earlier Gripbook records into it, and this one would change the book; close that one first`,
  );
  expect(bySql((db) => db.pragma("user_version", { simple: true }))).toBe(5);
  earlier.release();
  expect(faults()).toEqual([]);
});
