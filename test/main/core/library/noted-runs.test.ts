/** The list of runs carries what was noted while driving, so that a run is found by it; a run without is no longer for it, and damaged marks hide no run. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { rowsOf } from "../../../../src/main/core/library/library.ts";
import { type Book, BookError } from "../../../../src/main/ports/book.ts";
import { foundRuns } from "../../../../src/renderer/pages/runs/run-filter.ts";
import { addTimedRuns } from "../../../support/timed-book.ts";

const folder = mkdtempSync(join(tmpdir(), "gripbook-noted-"));
let book: Book;
beforeAll(() => {
  const file = join(folder, "day.gripbook");
  const noted = [
    { atS: -50, text: "gusts" },
    { atS: 1, text: "" },
    { atS: 2, text: "hop at the rear" },
  ];
  addTimedRuns(file, [
    { label: "off", seconds: 5 },
    { label: "off", seconds: 5, noted },
  ]);
  addTimedRuns(file, [{ label: "on", seconds: 4.5, noted: [{ atS: 1, text: "dust" }] }], "later", 1);
  book = openSqliteBook({ file, create: false });
});
afterAll(() => {
  book.close();
  rmSync(folder, { recursive: true });
});

test("each row has the texts of its run's notes; a mark has none, and a row without notes lacks the field", () => {
  expect(rowsOf(book).map(({ noted }) => noted)).toEqual([undefined, ["gusts", "hop at the rear"], ["dust"]]);
  expect(rowsOf(book).map((row) => "noted" in row)).toEqual([false, true, true]);
});

test("the run is found by the words of its notes, and no other run is", () => {
  for (const [words, ids] of [
    ["gusts", [2]],
    ["hop at the rear", [2]],
    ["DUST", [3]],
  ] as const)
    expect([words, foundRuns(rowsOf(book), words).map(({ id }) => id)]).toEqual([words, ids]);
});

test("a recording whose marks cannot be read is listed all the same", () => {
  const damaged: Book = {
    ...book,
    marks: (recording) => {
      if (recording === 1) throw new BookError("damaged", "made up");
      return book.marks(recording);
    },
  };
  expect(rowsOf(damaged).map(({ noted }) => noted)).toEqual([undefined, undefined, ["dust"]]);
});
