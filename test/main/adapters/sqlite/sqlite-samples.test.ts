/**
 * The block copy of a run's samples against its rows on real files: the same to the bit, dropped once a row is changed by plain SQL, absent
 * in older books. Source: sqlite.org/lang_createtrigger.html.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
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

test("rows and the copy beside them hold the same to the bit, unknown ones too, after an add and after a replace", () => {
  const { book, recording, runs } = bookOfTwo();
  const other = runWrite(recording, "u1");
  const changed = { ...other, samples: { ...other.samples, slipRatio: Float64Array.from([0.1 + 0.2, Number.NaN, 5e-324]) } };
  book.replaceRun(runs[0], changed);
  for (const [run, write] of [
    [runs[0], changed],
    [runs[1], other],
  ] as const) {
    expect(book.samples(run).samples).toStrictEqual(write.samples);
    expect(book.sampleRows(run).samples).toStrictEqual(write.samples);
  }
  book.close();
});

test.each(["UPDATE sample SET pedal = 7 WHERE run = 1 AND row = 1", "DELETE FROM sample WHERE run = 1 AND row = 2"])(
  "the rows rule: after %s the book reads what they say, and the other run's copy stays",
  (text) => {
    const { book, runs } = bookOfTwo();
    bySql(text);
    expect(book.samples(runs[0])).toStrictEqual(book.sampleRows(runs[0]));
    expect(book.samples(runs[0]).samples).not.toStrictEqual(runWrite(1).samples);
    book.close();
    const db = new Database(file, { readonly: true });
    expect(db.prepare("SELECT run FROM sample_copy").pluck().all()).toEqual([runs[1]]);
    db.close();
  },
);

test("a book of version 3, which has rows alone, opens and reads the same", () => {
  const { book, runs } = bookOfTwo();
  book.close();
  bySql("DROP TRIGGER sample_updated; DROP TRIGGER sample_deleted; DROP TABLE sample_copy; DROP TABLE seal; PRAGMA user_version = 3");
  const again = openSqliteBook({ file, create: false });
  expect(again.samples(runs[0]).samples).toStrictEqual(runWrite(1).samples);
  again.replaceRun(runs[0], runWrite(1));
  again.close();
  const db = new Database(file, { readonly: true });
  expect(db.prepare("SELECT run FROM sample_copy").pluck().all()).toEqual([runs[0]]);
  db.close();
});

test("a copy of another length is named with its run and the way out", () => {
  const { book, runs } = bookOfTwo();
  bySql("UPDATE sample_copy SET columns = x'00' WHERE run = 1");
  expect(() => book.samples(runs[0])).toThrow(`Book ${file}: the samples of run 1 are 1 bytes, expected a multiple of 88; run rederive`);
  book.close();
});
