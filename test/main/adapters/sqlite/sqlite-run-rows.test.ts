/**
 * Figures cached in memory against those in the file: whoever writes them, and whatever is rolled back, the book shows what the file
 * contains. Source: sqlite.org/pragma.html#pragma_data_version.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import { START, runWrite } from "./book-run.fixture.ts";

let folder = "";
let file = "";
let book: Book;
let run = 0;
let recording = 0;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  file = join(folder, "a.gripbook");
  book = openSqliteBook({ file, create: true });
  recording = book.startRecording(START).id;
  run = book.addRun(runWrite(recording));
  book.addRun(runWrite(recording, "u2"));
  expect(seconds()).toEqual([4.35, 4.35]);
});
afterEach(() => {
  book.close();
  rmSync(folder, { recursive: true, force: true });
});

const seconds = () => book.runs().map(({ figures }) => figures.gates[0]?.seconds);
function faster(value: number) {
  const write = runWrite(recording);
  const [gate] = write.figures.gates;
  if (gate === undefined) throw new TypeError("expected a gate");
  return { ...write, figures: { ...write.figures, gates: [{ ...gate, seconds: value }] } };
}

test("another connection's commit is seen at once, in the list and in the run by itself", () => {
  const other = openSqliteBook({ file, create: false });
  other.replaceRun(run, faster(4.36));
  other.close();
  expect(seconds()).toEqual([4.36, 4.35]);
  expect(book.run(run).figures.gates[0]?.seconds).toBe(4.36);
});

test("a replaced run and one whose launch was lost are read anew", () => {
  book.replaceRun(run, faster(4.1));
  expect(seconds()).toEqual([4.1, 4.35]);
  book.markLost(run, { flag: "interrupted", why: "its journal no longer gives it" });
  expect(book.run(run).figures.flags.map(({ flag }) => flag)).toEqual(["interrupted"]);
});

test("what a transaction wrote, read and took back is not kept", () => {
  expect(() =>
    book.transaction(() => {
      book.replaceRun(run, faster(3.9));
      expect(seconds()).toEqual([3.9, 4.35]);
      throw new RangeError("taken back");
    }),
  ).toThrow("taken back");
  expect(seconds()).toEqual([4.35, 4.35]);
});

test("conditions and overruled flags belong to their own run in the list", () => {
  book.setConditions(run, { surface: "damp", gust: "none" }, 1);
  book.setOverruled(run, "slope", "level here", 2);
  expect(book.runs().map(({ conditions, overruled }) => [conditions, overruled])).toEqual([
    [{ gust: "none", surface: "damp" }, { slope: "level here" }],
    [{}, {}],
  ]);
  expect(book.run(run).conditions).toEqual({ gust: "none", surface: "damp" });
});
