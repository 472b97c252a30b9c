/** A run's name is unique whatever is stored: the same launch twice in one log, and a book that two earlier Gripbooks wrote at once. The outside reference is a book that one wrote alone (test/fixtures/books). */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { storeDerived } from "../../../../src/main/core/deriving/settle.ts";
import type { RunWrite } from "../../../../src/main/ports/book.ts";
import { gripbook } from "../../../support/run-gripbook.ts";
import { shownBy, unpackBook } from "../../../support/stored-book.ts";
import { START, runWrite } from "../../adapters/sqlite/book-run.fixture.ts";

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function launch(uid: string, movementS: number) {
  const { recording: _recording, calibration: _calibration, final: _final, samples, ...write } = runWrite(1, uid) satisfies RunWrite;
  return {
    ...write,
    takeSamples: () => samples,
    figures: { ...write.figures, uid, movementS, windowFromS: movementS - 5, windowToS: movementS + 7 },
  };
}

test("the same launch three times in one log makes three runs, and keeps their names when derived again", () => {
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  const { id } = book.startRecording(START);
  book.closeRecording(id, "closed");
  const derived = { calibration: {} as never, wiring: [], rolling: [], runs: [launch("u", 12.5), launch("u", 52.5), launch("u", 92.5)] };
  storeDerived(book, id, derived, null);
  const names = book.runs().map((run) => run.uid);
  expect(new Set(names).size).toBe(3);
  expect(names[0]).toBe("u");
  storeDerived(book, id, derived, null);
  expect(book.runs().map((run) => run.uid)).toEqual(names);
  // A launch does not take the name of one that is no longer found either.
  expect(() => storeDerived(book, id, { ...derived, runs: [launch("u-1", 200)] }, null)).not.toThrow();
  book.close();
});

test("a book that a reader closed while its first day was written is told by check and mended by rederive", async () => {
  const file = unpackBook(4, join(folder, "a.gripbook"));
  const db = new Database(file);
  // The damage left behind, as seen with the Gripbook before this one: a recording's end from when the reader opened the book, and the
  // launch after it cut off before it began.
  db.exec(`UPDATE recording SET end_ns = 9671405000, state = 'interrupted';
    UPDATE run SET derived = json_set(derived, '$.windowToS', 9.671405)`);
  db.close();
  const checked = await gripbook("check", "--book", file);
  expect(checked.out).toMatch(/recording 1: its journal goes on after its end; run rederive/);
  const { code, err } = await gripbook("rederive", "--book", file);
  expect([code, err]).toEqual([0, ""]);
  expect((await gripbook("check", "--book", file)).out).toMatch(/^Sound: 1 recordings, 2 runs/);
  const book = openSqliteBook({ file, create: false });
  expect(book.runs().map(({ id, uid, label, note }) => ({ id, uid, label, note }))).toEqual(
    shownBy(4).map(({ id, uid, label, note }) => ({ id, uid, label, note })),
  );
  expect(book.runs().every(({ figures }) => figures.flags.every(({ flag }) => flag !== "interrupted"))).toBe(true);
  book.close();
});
