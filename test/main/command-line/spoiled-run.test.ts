/**
 * One changed byte anywhere in the stored data: the run concerned is one line with its number and the remedy, all others are readable, and
 * rederive repairs it. The outside reference is the book before.
 */
import { createHash } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../src/main/adapters/sqlite/sqlite-book.ts";
import { checkBook } from "../../../src/main/core/deriving/check-book.ts";
import { settle } from "../../../src/main/core/deriving/settle.ts";
import { gatesOf, timedGates } from "../../../src/main/core/judging/own-gates.ts";
import { viewOf } from "../../../src/main/core/library/library.ts";
import { openBook } from "../../../src/main/open-book.ts";
import { type Book, BookError } from "../../../src/main/ports/book.ts";
import type { RunView } from "../../../src/shared/contract/contract.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { gripbook, gripbookJson } from "../../support/run-gripbook.ts";
import { unpackBook } from "../../support/stored-book.ts";

const PLACES = 25;
let folder = "";
let whole = Buffer.alloc(0);
let before = "";
const file = () => join(folder, "a.gripbook");
const showAll = async () => JSON.stringify(await gripbookJson<RunView[]>("show", "all", "--book", file()));

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  unpackBook(4, file());
  expect((await gripbook("rederive", "--book", file())).code).toBe(0);
  before = await showAll();
  whole = readFileSync(file());
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Changes one byte of the stored text `after` letters behind `mark`. */
function spoil(mark: string, after: number, mask: number): void {
  const bytes = Buffer.from(whole);
  const at = bytes.indexOf(mark);
  expect(at, mark).toBeGreaterThan(0);
  bytes[at + after] = bytes[at + after] ^ mask;
  writeFileSync(file(), bytes);
}

const FAULT = /^run 2: its figures are not what was written: .*; run rederive, which computes them again from the journal\n?$/;
const ONE_LINE =
  /^Run 2: its stored figures are damaged; `rederive` computes them again from the journal, and keeps its label and notes\n$/;

// The top bit makes invalid UTF-8; the lowest makes another letter or digit, which is valid JSON.
test.each([
  [10, 0x80],
  [10, 0x01],
  [91, 0x01],
  [400, 0x04],
  [900, 0x01],
  [1700, 0x01],
])("a byte changed %i letters into a run's figures (mask %i) takes no other run with it, and deriving mends it", (after, mask) => {
  const { uid } = (JSON.parse(before) as RunView[])[1]?.run ?? { uid: "" };
  spoil(`{"uid":"${uid}"`, after, mask);
  const book = openSqliteBook({ file: file(), create: false });
  expect(book.runs().map(({ id }) => id)).toEqual([1]);
  expect(book.badRuns(null).map(({ id }) => id)).toEqual([2]);
  expect(checkBook(book, gatesOf(book)).faults).toEqual([expect.stringMatching(FAULT)]);
  settle(book, 1, { gates: gatesOf(book), recalibrate: false });
  expect(JSON.stringify(book.runs().map(({ id }) => viewOf(book, id)))).toBe(before);
  expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
  book.close();
});

test("the commands say it in one line, list the others, and rederive mends it", async () => {
  const { uid } = (JSON.parse(before) as RunView[])[1]?.run ?? { uid: "" };
  spoil(`{"uid":"${uid}"`, 90, 0x80);
  const listed = await gripbook("runs", "--book", file());
  expect(listed).toEqual({ code: 0, out: expect.stringMatching(/^ +1 .*first kept.*\n$/), err: expect.stringMatching(ONE_LINE) });
  expect((await gripbook("show", "2", "--book", file())).err.split("\n").at(-2)).toMatch(/^Book .*: Run 2: its stored figures are damaged/);
  expect((await gripbook("check", "--book", file())).out).toMatch(FAULT);
  expect(await gripbook("rederive", "--book", file())).toMatchObject({ code: 0, err: "" });
  expect(await showAll()).toBe(before);
});

test("a changed calibration is found by check, show says that it is damaged and still shows the run, and rederive fits it again", async () => {
  spoil('"gnssDelayS":{"value":0.', '"gnssDelayS":{"value":0.'.length, 0x01);
  const shown = await gripbookJson<RunView>("show", "1", "--book", file());
  expect(shown.calibration.notes).toEqual([expect.stringMatching(/calibration 1 is damaged; `rederive` fits it again$/)]);
  expect(JSON.stringify(shown.gates)).toBe(JSON.stringify((JSON.parse(before) as RunView[])[0]?.gates));
  expect((await gripbook("check", "--book", file())).out).toMatch(
    /^calibration 1 is not what was written: .*; run rederive, which fits it again\n$/,
  );
  expect(await gripbook("rederive", "--book", file())).toMatchObject({ code: 0, err: "" });
  expect((await gripbook("check", "--book", file())).out).toMatch(/^Sound/);
});

const changes: readonly [string, RegExp][] = [
  ["UPDATE run SET note = 'calm' WHERE id = 2", /run 2: its name, label, note or conditions/],
  ["UPDATE condition SET value = 'dry'", /run 1: its name, label, note or conditions/],
  ["UPDATE recording SET base_utc_ns = base_utc_ns + 1", /recording 1: its start, state or set-up/],
  ["UPDATE mark SET text = 'x'; INSERT INTO mark (recording, at_ns, kind, text) VALUES (1, 5, 'note', '')", /recording 1: its marks/],
  ["UPDATE journal SET from_ns = from_ns + 1000 WHERE block = 2", /the times or counts of its journal's blocks/],
  ["INSERT INTO gap VALUES (1, 'can', 0, 5, 'x')", /recording 1: its list of gaps/],
  ["INSERT INTO clock_sample VALUES (1, 5, 5)", /recording 1: its wall clock/],
  ["UPDATE setting SET value = '[]'", /the book's own gates or its choice of plan/],
  ["UPDATE edit SET before = '\"x\"' WHERE run = 1", /what was kept of earlier changes \(run 1\)/],
  ["DELETE FROM edit WHERE run = 2", /what was kept of earlier changes \(run 2\)/],
  ["UPDATE signal_file SET text = text || ' '", /set-up 1 or a signal file of it/],
  ["UPDATE sample SET pedal = pedal + 1 WHERE run = 2 AND row = 500", /run 2: its samples/],
  ["UPDATE journal SET packets = zeroblob(20) WHERE block = 3", /recording 1, block 3 is damaged/],
];

test("check lists every change of what is stored at once, each with what to do", () => {
  writeFileSync(file(), whole);
  const db = new Database(file());
  for (const [sql] of changes) db.exec(sql);
  db.close();
  const book = openSqliteBook({ file: file(), create: false });
  const { faults } = checkBook(book, gatesOf(book));
  book.close();
  for (const [sql, words] of changes)
    expect(
      faults.filter((fault) => words.test(fault)),
      sql,
    ).toHaveLength(1);
  for (const fault of faults) expect(fault).toContain("; ");
});

/** Everything that the book holds, as one hash; null where SQLite cannot read it. */
function contents(path: string): string | null {
  const db = new Database(path, { readonly: true });
  const hash = createHash("sha256");
  try {
    for (const name of db.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").pluck().all() as string[]) {
      for (const row of db.prepare(`SELECT * FROM "${name}"`).raw().safeIntegers().iterate() as Iterable<unknown[]>)
        for (const value of row) hash.update(value instanceof Uint8Array ? value : `${String(value)}|`);
    }
    return hash.digest("hex");
  } catch {
    return null;
  } finally {
    db.close();
  }
}

/** A page of the schema itself: nothing can be opened, and that is one line. */
function faultsOf(path: string): readonly string[] {
  let book: Book;
  try {
    ({ book } = openBook({ file: path, create: false }));
  } catch (error) {
    if (error instanceof BookError) return [error.message];
    throw error;
  }
  try {
    return checkBook(book, timedGates([])).faults;
  } finally {
    book.close();
  }
}

const PAGE = 4096;
const spoilers: Readonly<Record<string, (bytes: Buffer, at: number, bit: number) => void>> = {
  "a bit is changed"(bytes, at, bit) {
    bytes[at] = (bytes[at] as number) ^ (1 << bit);
  },
  "a page is zeros": (bytes, at) => void bytes.fill(0, at - (at % PAGE), at - (at % PAGE) + PAGE),
};

test.each(Object.entries(spoilers))("wherever %s, check goes to its end and finds it, unless no content is there", async (_, spoilAt) => {
  const copy = join(folder, "flipped.gripbook");
  writeFileSync(copy, whole);
  const before = contents(copy);
  const random = createSeededRandom(20_310_504);
  let found = 0;
  for (let i = 0; i < PLACES; i += 1) {
    const bytes = Buffer.from(whole);
    const at = PAGE + random.below(bytes.length - PAGE);
    spoilAt(bytes, at, random.below(8));
    for (const end of ["-wal", "-shm"]) rmSync(copy + end, { force: true });
    writeFileSync(copy, bytes);
    const sameContent = contents(copy) === before;
    const faults = faultsOf(copy);
    expect(faults.length > 0 || sameContent, `byte ${at}`).toBe(true);
    for (const fault of faults) expect(fault).not.toContain("\n");
    found += faults.length > 0 ? 1 : 0;
  }
  expect(found).toBeGreaterThan(PLACES / 2);
});
