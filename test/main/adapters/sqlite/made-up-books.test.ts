/**
 * Books made up to hold up whoever opens them: each is refused at once in one line, or read in bounded memory. Sources: sqlite.org/security.html
 * ("Untrusted SQLite Database Files"), limits.html, fileformat2.html. The outside reference is SQLite itself, which made them.
 */
import { mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { crc32 } from "node:zlib";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { createSeals } from "../../../../src/main/adapters/sqlite/sqlite-seals.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import { openBook } from "../../../../src/main/open-book.ts";
import { gripbook } from "../../../support/run-gripbook.ts";
import { unpackBook } from "../../../support/stored-book.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const file = () => join(folder, "a.gripbook");

/** `inLog`: what was changed stays in the write-ahead log, as a process leaves it that was killed. */
function changed(sql: string, inLog = false): void {
  unpackBook(5, file());
  const db = new Database(file());
  db.unsafeMode(true);
  db.pragma(inLog ? "journal_mode = WAL" : "journal_mode = DELETE");
  db.pragma("wal_autocheckpoint = 0");
  db.pragma("writable_schema = ON");
  db.exec(sql);
  if (inLog) renameSync(`${file()}-wal`, `${file()}-kept`);
  db.close();
  if (inLog) renameSync(`${file()}-kept`, `${file()}-wal`);
}

const COUNT = (n: number) => `WITH RECURSIVE c(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM c WHERE i < ${n})`;
const MANY_TABLES = `INSERT INTO sqlite_schema ${COUNT(100_000)} SELECT 'table', 'x' || i, 'x' || i, 16, 'CREATE TABLE x' || i || '(a)' FROM c`;
const MANY_VIEWS = `INSERT INTO sqlite_schema ${COUNT(20_000)} SELECT 'view', 'x' || i, 'x' || i, 0, 'CREATE VIEW x' || i || ' AS SELECT * FROM x' || (i + 1) FROM c`;
const LONG_VIEW = `INSERT INTO sqlite_schema VALUES ('view', 'x', 'x', 0, 'CREATE VIEW x AS SELECT ''' || hex(zeroblob(10000000)) || '''')`;
const LIST =
  /^Book .* was changed by another program, or is made up: its list of tables is longer than that of any book; use a copy from before$/;
const GIANT =
  /^Book .* or is made up: (run\.note|run\.derived|set_up\.text|edit\.after) holds \d+ MB, longer than Gripbook writes; use a copy from before$/;

test.each([
  ["100,000 tables", MANY_TABLES, LIST, false],
  ["100,000 tables in the log beside it", MANY_TABLES, LIST, true],
  ["20,000 views of each other", MANY_VIEWS, LIST, false],
  ["a view of 20 MB", LONG_VIEW, LIST, false],
  ["a note of 40 MB", "UPDATE run SET note = hex(zeroblob(20000000)) WHERE id = 1", GIANT, false],
  ["figures of 40 MB", "UPDATE run SET derived = hex(zeroblob(20000000)) WHERE id = 2", GIANT, false],
  ["a set-up of 40 MB", "UPDATE set_up SET text = hex(zeroblob(20000000))", GIANT, false],
  ["a change of 40 MB", "UPDATE edit SET after = hex(zeroblob(20000000))", GIANT, false],
])("a book with %s is refused before SQLite reads it", (_what, sql, said, inLog) => {
  changed(sql, inLog);
  expect(() => openSqliteBook({ file: file(), create: false }).close()).toThrow(said);
});

const PAGE_BYTES = 4096;
const FAN_OUT = 300;

/** An inner page of a table, all of whose children are the same page (fileformat2.html, 1.6). */
function innerPage(child: number): Buffer {
  const page = Buffer.alloc(PAGE_BYTES);
  page.writeUInt8(5, 0);
  page.writeUInt16BE(FAN_OUT, 3);
  page.writeUInt32BE(child, 8);
  let at = PAGE_BYTES;
  for (let i = 0; i < FAN_OUT; i += 1) {
    at -= 5;
    page.writeUInt32BE(child, at);
    page.writeUInt8(i & 0x7f, at + 4);
    page.writeUInt16BE(at, 12 + 2 * i);
  }
  page.writeUInt16BE(at, 5);
  return page;
}

/** Four levels more above a table's pages: 300^4 ways to each row. */
function endless(table: string): void {
  changed("SELECT 1");
  const db = new Database(file());
  const root = db.prepare("SELECT rootpage FROM sqlite_schema WHERE name = ?").pluck().get(table) as number;
  db.close();
  const bytes = readFileSync(file());
  const pages = bytes.length / PAGE_BYTES;
  const first = Buffer.from(bytes.subarray((root - 1) * PAGE_BYTES, root * PAGE_BYTES));
  const more = [first, innerPage(pages + 1), innerPage(pages + 2), innerPage(pages + 3)];
  innerPage(pages + 4).copy(bytes, (root - 1) * PAGE_BYTES);
  bytes.writeUInt32BE(pages + more.length, 28);
  writeFileSync(file(), Buffer.concat([bytes, ...more]));
}

test.each(["run", "recording", "mark", "edit", "journal"])(
  "pages of the table %s that name each other again and again are refused",
  (table) => {
    endless(table);
    expect(() => openSqliteBook({ file: file(), create: false }).close()).toThrow(
      new RegExp(`^Book .* or is made up: the pages of "${table}" name each other again and again; use a copy from before$`),
    );
  },
);

test("a thousand recordings with one large set-up hold it once", () => {
  changed(
    `UPDATE set_up SET text = text || printf('%.*c', 3000000, ' '); DELETE FROM seal;
     INSERT INTO recording (uid, origin, base_utc_ns, end_ns, state, derived, can_format, set_up) ${COUNT(1000)}
     SELECT 'u' || i, 'live', 1, 1, 'closed', 1, 'slcan', 1 FROM c`,
  );
  const book = openSqliteBook({ file: file(), create: false });
  const before = process.memoryUsage().rss;
  const all = book.recordings();
  expect(all.length).toBeGreaterThan(1000);
  expect(all.reduce((sum, { setUp }) => sum + setUp.text.length, 0)).toBeGreaterThan(3e9);
  expect(process.memoryUsage().rss - before).toBeLessThan(300 * 2 ** 20);
  book.close();
});

test("figures nested a million deep are those of one damaged run", () => {
  changed(
    `UPDATE run SET derived = printf('%.*c', 1000000, '[') || printf('%.*c', 1000000, ']') WHERE id = 1; DELETE FROM seal WHERE what = 'figures'`,
  );
  const db = new Database(file());
  createSeals(db).sealMissing();
  db.close();
  const book = openSqliteBook({ file: file(), create: false });
  expect(book.runs().map(({ id }) => id)).toEqual([2]);
  expect(book.badRuns(null).map(({ id }) => id)).toEqual([1]);
  book.close();
});

test.each(["null", "{}", "[1]", '"x"', "7"])("figures that are %s under a right checksum are those of one damaged run", (json) => {
  for (const column of ["derived", "print", "role_units"]) {
    if (column === "role_units" && json === "{}") continue;
    changed(`UPDATE run SET ${column} = '${json}' WHERE id = 1; DELETE FROM seal WHERE what = 'figures'`);
    const db = new Database(file());
    createSeals(db).sealMissing();
    db.close();
    const { book, bad } = openBook({ file: file(), create: false });
    expect([column, book.runs().map(({ id }) => id), bad.length]).toEqual([column, [2], 1]);
    book.close();
  }
});

test("a block of thirty million empty packets is a damaged one", () => {
  changed("SELECT 1");
  const bytes = Buffer.alloc(60_000_000);
  const db = new Database(file());
  db.prepare("UPDATE journal SET packets = ?, crc32 = ?, gnss_count = ?, can_count = 0 WHERE block = 3").run(
    bytes,
    crc32(bytes),
    30_000_000,
  );
  db.close();
  const book = openSqliteBook({ file: file(), create: false });
  let read = 0;
  expect(() => {
    for (const _packet of book.packets(1)) read += 1;
  }).toThrow(/block 3 holds over 1,000,000 packets/);
  expect(read).toBeLessThan(10_000);
  book.close();
});

test("a block of 100 MB is one that is damaged: runs stay readable, deriving says so, and none of it is held", () => {
  changed("UPDATE journal SET packets = zeroblob(100000000) WHERE block = 3");
  const book = openSqliteBook({ file: file(), create: false });
  expect(book.runs()).toHaveLength(2);
  expect(checkBook(book, gatesOf(book)).faults).toContainEqual(expect.stringMatching(/block 3 is damaged/));
  expect(() => [...book.packets(1)]).toThrow(/block 3 is damaged/);
  book.close();
});

test("a recording that ends in a hundred days is derived without a table of all those days", async () => {
  const days = String(100n * 24n * 3600n * 1_000_000_000n);
  changed(
    `UPDATE journal SET from_ns = from_ns + ${days}, to_ns = to_ns + ${days}, line_ns = line_ns + ${days} WHERE block = (SELECT max(block) FROM journal);
     DELETE FROM seal`,
  );
  const { code, err } = await gripbook("rederive", "--book", file());
  // Its packets hold no frame, which is told; nothing else goes wrong.
  expect([code, err.split("\n").filter((line) => !/no longer found|not one frame came/.test(line))]).toEqual([0, [""]]);
});
