/**
 * A page of any table or index that cannot be read: every run on another page is read, `check` goes to its end, and what is missing is one line. The
 * outside reference is the book before and SQLite's list of its pages (dbstat). A page begins with its kind (sqlite.org/fileformat2.html, 1.6).
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, test } from "vitest";
import { checkBook } from "../../../../src/main/core/deriving/check-book.ts";
import { gatesOf } from "../../../../src/main/core/judging/own-gates.ts";
import { whatHappened } from "../../../../src/main/core/library/what-happened.ts";
import { openBook } from "../../../../src/main/open-book.ts";
import { unpackBook } from "../../../support/stored-book.ts";

interface Page {
  readonly name: string;
  readonly pageno: number;
}

const PAGE_BYTES = 4096;
/** What people noted: the opening says it where a page of these is lost. */
const NOTED = ["condition", "overrule", "setting", "edit", "plan", "plan_run", "seal"];

let folder = "";
let whole = Buffer.alloc(0);
let pages: readonly Page[] = [];

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  const file = unpackBook(5, join(folder, "whole.gripbook"));
  const { book } = openBook({ file, create: false });
  book.setOverruled(1, "pedal", "as meant", 1);
  book.close();
  const db = new Database(file);
  db.pragma("journal_mode = DELETE");
  pages = db.prepare("SELECT name, min(pageno) AS pageno FROM dbstat WHERE name <> 'sqlite_schema' GROUP BY name").all() as Page[];
  db.close();
  whole = readFileSync(file);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function spoiled({ name, pageno }: Page): string {
  const file = join(folder, `${name}.gripbook`);
  const bytes = Buffer.from(whole);
  bytes[(pageno - 1) * PAGE_BYTES] = 0xff;
  writeFileSync(file, bytes);
  return file;
}

test("a lost page of any table or index leaves runs, samples, check and the file to hand over", () => {
  expect(pages.length).toBeGreaterThan(25);
  for (const page of pages) {
    const { book, bad, recovery } = openBook({ file: spoiled(page), create: false });
    try {
      const lost = page.name === "run" ? 2 : 0;
      expect([page.name, book.runs().length, bad.length]).toEqual([page.name, 2 - lost, lost]);
      for (const { id } of book.runs()) expect(book.samples(id).samples.tS.length).toBeGreaterThan(1000);
      expect(gatesOf(book).length).toBeGreaterThan(10);
      const told = recovery.told.filter((line) =>
        /^Book .*: a page with .* cannot be read, and goes on without it; `check` lists/.test(line),
      );
      expect([page.name, told.length]).toEqual([page.name, NOTED.includes(page.name) ? 1 : 0]);
      const { faults } = checkBook(book, gatesOf(book));
      expect(faults, page.name).toContainEqual(expect.stringMatching(/the file itself is damaged/));
      expect(whatHappened(book, true).length).toBeGreaterThan(3);
    } finally {
      book.close();
    }
  }
});
