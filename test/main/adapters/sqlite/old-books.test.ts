/**
 * Books of every schema version, each written by the Gripbook of its time (test/fixtures/books), opened by a program that knows one role
 * more: opened, read, derived again, compared. The outside references are what that Gripbook showed, and a fresh derivation of the same
 * bytes.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { MIGRATIONS } from "../../../../src/main/adapters/sqlite/sqlite-migrations.ts";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { settle } from "../../../../src/main/core/deriving/settle.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import { type ShownRun, STORED_VERSIONS, shownBy, unpackBook } from "../../../support/stored-book.ts";

vi.mock(import("../../../../src/shared/setup/roles.ts"), async (original) => {
  const roles = await original();
  return { ...roles, SINGLE_ROLES: { ...roles.SINGLE_ROLES, oneRoleMore: "rad" } as unknown as typeof roles.SINGLE_ROLES };
});

test("a book of every version of the schema is kept", () => {
  expect(STORED_VERSIONS).toEqual(MIGRATIONS.map((_, i) => i + 1));
});

let folder = "";
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const shown = (book: Book): ShownRun[] =>
  book.runs().map(({ id, uid, label, use, note, conditions, figures }) => ({
    id,
    uid,
    label,
    startedAt: new Date(figures.startedAtUtcMs ?? Number.NaN).toISOString(),
    use,
    note,
    conditions,
    seconds: Object.fromEntries(
      figures.gates
        .filter(({ seconds }) => seconds !== null)
        .map(({ gate, start, seconds }) => [`${gate}, ${start}`, seconds ?? Number.NaN]),
    ),
  }));

function derived(book: Book): string {
  return JSON.stringify(
    book.runs().map(({ id, figures, print }) => ({ id, figures, print, samples: book.samples(id).samples.groundSpeedMps })),
  );
}

test.each(STORED_VERSIONS)(
  "a book of version %i opens, shows what its Gripbook showed, and is what its journal gives once derived again",
  (version) => {
    const book = openSqliteBook({ file: unpackBook(version, join(folder, "a.gripbook")), create: false });
    expect(shown(book)).toEqual(shownBy(version));
    expect(book.integrityFaults()).toEqual([]);
    expect(book.journalFaults(1)).toEqual([]);
    settle(book, 1, { gates: gatesOf(book), recalibrate: false });
    settle(book, 1, { gates: gatesOf(book), recalibrate: true });
    expect(checkBook(book, gatesOf(book)).faults).toEqual([]);
    const words = ({ seconds: _seconds, startedAt: _startedAt, ...kept }: ShownRun) => kept;
    expect(shown(book).map(words)).toEqual(shownBy(version).map(words));
    const newest = openSqliteBook({ file: unpackBook(6, join(folder, "newest.gripbook")), create: false });
    settle(newest, 1, { gates: gatesOf(newest), recalibrate: true });
    expect(derived(book)).toBe(derived(newest));
    newest.close();
    book.close();
  },
);
