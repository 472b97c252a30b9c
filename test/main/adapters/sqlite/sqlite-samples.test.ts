/**
 * A run's samples on real files: each is in the book once, as a row, and a changed one is found. Sources: sqlite.org/fileformat2.html (2.1: a
 * REAL is stored as a big-endian IEEE 754 double); plain SQL, which makes the changes.
 */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import * as fc from "fast-check";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { FIXED_COLUMNS } from "../../../../src/main/adapters/sqlite/sample-columns.ts";
import { ROLE_COLUMNS } from "../../../../src/main/adapters/sqlite/sqlite-schema.ts";
import { START, runWrite } from "./book-run.fixture.ts";

let folder = "";
let file = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  file = join(folder, "a.gripbook");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A book with two runs. */
function bookOfTwo() {
  const book = openSqliteBook({ file, create: true });
  const { id } = book.startRecording(START);
  const runs = [book.addRun(runWrite(id, "u1")), book.addRun(runWrite(id, "u2"))] as const;
  return { book, recording: id, runs };
}

function bySql(text: string): void {
  const db = new Database(file);
  db.exec(text);
  db.close();
}

function timesIn(bytes: Buffer, part: Buffer): number {
  let count = 0;
  for (let at = bytes.indexOf(part); at >= 0; at = bytes.indexOf(part, at + 1)) count += 1;
  return count;
}

test("a book holds each sample once", () => {
  const rare = 1234.567_890_123;
  const book = openSqliteBook({ file, create: true });
  const write = runWrite(book.startRecording(START).id);
  book.addRun({ ...write, samples: { ...write.samples, distanceM: Float64Array.from([0, rare, Number.NaN]) } });
  book.close();
  const [big, little] = [Buffer.alloc(8), Buffer.alloc(8)];
  big.writeDoubleBE(rare);
  little.writeDoubleLE(rare);
  const bytes = readFileSync(file);
  expect([timesIn(bytes, big), timesIn(bytes, little)]).toEqual([1, 0]);
});

test("samples come back to the bit, unknown ones too, after an add and after a replace", () => {
  const { book, recording, runs } = bookOfTwo();
  const other = runWrite(recording, "u1");
  const slipRatio = Float64Array.from([0.1 + 0.2, Number.NaN, 5e-324]);
  const changed = { ...other, samples: { ...other.samples, slipRatio } };
  book.replaceRun(runs[0], changed);
  expect(book.samples(runs[0]).samples).toStrictEqual(changed.samples);
  expect(book.samples(runs[1]).samples).toStrictEqual(other.samples);
  expect(book.sampleColumns(runs[0], ["slipRatio", "pedal", "brake"])).toStrictEqual({ slipRatio, pedal: other.samples.roles.pedal });
  expect(book.integrityFaults()).toEqual([]);
  book.close();
});

const COLUMNS = [...FIXED_COLUMNS, ...ROLE_COLUMNS];
const aChange = fc.oneof(
  fc
    .tuple(fc.constantFrom(...COLUMNS), fc.nat(2), fc.option(fc.double({ noNaN: true, noDefaultInfinity: true })))
    .map(([column, row, value]) => ({ sql: `UPDATE sample SET "${column}" = ${value ?? "NULL"} WHERE run = 1 AND row = ${row}` })),
  fc.nat(2).map((row) => ({ sql: `DELETE FROM sample WHERE run = 1 AND row = ${row}` })),
  fc.integer({ min: 3, max: 9 }).map((row) => ({ sql: `INSERT INTO sample (run, row, "tS") VALUES (1, ${row}, 7.53)` })),
  fc.nat(2).map((row) => ({ sql: `UPDATE sample SET row = row + 10 WHERE run = 1 AND row = ${row}` })),
);

test("whatever plain SQL changes in a run's rows, the book reads what they say, and names that run alone", () => {
  bookOfTwo().book.close();
  const all = (db: Database.Database) => JSON.stringify(db.prepare("SELECT * FROM sample ORDER BY run, row").raw().all());
  fc.assert(
    fc.property(aChange, ({ sql }) => {
      const db = new Database(file);
      const before = all(db);
      db.exec("SAVEPOINT before");
      db.exec(sql);
      const changed = all(db) !== before;
      const rows = db.prepare(`SELECT "tS", "distanceM" FROM sample WHERE run = 1 ORDER BY row`).raw().all() as (number | null)[][];
      db.exec("RELEASE before");
      db.close();
      const book = openSqliteBook({ file, create: false });
      const { samples } = book.samples(1);
      expect([[...samples.tS], [...samples.distanceM]]).toEqual([0, 1].map((i) => rows.map((row) => row[i] ?? Number.NaN)));
      expect(book.integrityFaults()).toEqual(
        changed ? [expect.stringMatching(/^run 1: its samples are not what was written: .*; run rederive, which computes them again/)] : [],
      );
      book.replaceRun(1, runWrite(1, "u1"));
      expect(book.integrityFaults()).toEqual([]);
      book.close();
    }),
    { numRuns: 60 },
  );
});

test("a book of version 3, which has no seals, opens, reads the same, and is sealed", () => {
  const { book, runs } = bookOfTwo();
  book.close();
  bySql("DROP TABLE seal; PRAGMA user_version = 3");
  const again = openSqliteBook({ file, create: false });
  expect(again.samples(runs[0]).samples).toStrictEqual(runWrite(1).samples);
  again.close();
  bySql("UPDATE sample SET pedal = 3 WHERE run = 2 AND row = 1");
  const changed = openSqliteBook({ file, create: false });
  expect(changed.integrityFaults()).toEqual([expect.stringMatching(/^run 2: its samples/)]);
  changed.close();
});
