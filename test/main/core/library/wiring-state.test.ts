/** Wrong wiring as a state of the book: stored by recording, told as one notice, gone once a derivation no longer shows it; a damaged state is told. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { WIRING_KEY, setWiring, wiringLines, wiringNotice, wiringOf } from "../../../../src/main/core/library/wiring-state.ts";
import type { WiringFault } from "../../../../src/shared/pipeline/wiring-faults.ts";

const fault = (what: string): WiringFault => ({ kind: "reversed", what, seen: "it falls", remedy: "invert it", spoils: true });

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

test("faults are told until a derivation shows none; one that changes nothing leaves no edit", () => {
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  expect(wiringNotice(book)).toBeNull();
  setWiring(book, 1, [], 1);
  expect(book.edits(null)).toEqual([]);
  setWiring(book, 1, [fault("motor speed"), fault("torque asked")], 1);
  setWiring(book, 3, [fault("torque delivered")], 1);
  expect(wiringOf(book).map(({ recording }) => recording)).toEqual([1, 3]);
  expect(wiringNotice(book)).toBe(
    "Wrong wiring in recording 1: motor speed: it falls; invert it (times that rest on it are not stored). 2 more: `check` lists them",
  );
  const edits = book.edits(null).length;
  setWiring(book, 3, [fault("torque delivered")], 2);
  expect(book.edits(null)).toHaveLength(edits);
  setWiring(book, 1, [], 2);
  setWiring(book, 3, [], 2);
  expect(wiringNotice(book)).toBeNull();
  book.close();
});

test("a state of another form is told in one line, and stops no reader", () => {
  const book = openSqliteBook({ file: join(folder, "a.gripbook"), create: true });
  for (const value of [[], "x", { 1: [{ kind: "reversed" }] }, { 1: 3 }]) {
    book.setSetting(WIRING_KEY, value, 1);
    const lines = wiringLines(book);
    expect(lines).toHaveLength(1);
    expect(lines[0]).toContain("its setting wiring cannot be read");
  }
  book.close();
});
