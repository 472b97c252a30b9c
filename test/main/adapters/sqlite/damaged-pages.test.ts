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
import { gripbook } from "../../../support/run-gripbook.ts";
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
  const file = unpackBook(6, join(folder, "whole.gripbook"));
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

function spoiled({ name, pageno }: Page, from = whole): string {
  const file = join(folder, `${name}.gripbook`);
  const bytes = Buffer.from(from);
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
      for (const { id } of book.runs()) {
        const read = () => book.samples(id).samples.tS.length;
        if (page.name === "sample") expect(read).toThrow(/: a page with samples of run \d cannot be read; run rederive$/);
        else expect(read()).toBeGreaterThan(1000);
      }
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

test("a book of version 5 with a lost page of any table or index is migrated, and lists what is lost", () => {
  const file = unpackBook(5, join(folder, "five.gripbook"));
  const db = new Database(file);
  db.pragma("journal_mode = DELETE");
  const all = db.prepare("SELECT name, min(pageno) AS pageno FROM dbstat WHERE name <> 'sqlite_schema' GROUP BY name").all() as Page[];
  db.close();
  const bytes = readFileSync(file);
  for (const page of all) {
    const given = spoiled(page, bytes);
    const { book } = openBook({ file: given, create: false });
    try {
      expect([page.name, book.runs().length]).toEqual([page.name, page.name === "run" ? 0 : 2]);
      expect(checkBook(book, gatesOf(book)).faults, page.name).toContainEqual(expect.stringMatching(/the file itself is damaged/));
    } finally {
      book.close();
    }
    const migrated = new Database(given, { readonly: true });
    expect(migrated.pragma("user_version", { simple: true })).toBe(6);
    expect(migrated.prepare("SELECT name FROM sqlite_schema WHERE name LIKE 'sample%'").pluck().all()).toEqual(["sample"]);
    migrated.close();
  }
});

test("samples on a lost page are computed again by rederive; the run beside them is read all the same", async () => {
  const file = join(folder, "leaf.gripbook");
  writeFileSync(file, whole);
  const db = new Database(file);
  const leaves = db
    .prepare("SELECT pageno FROM dbstat WHERE name = 'sample' AND pagetype = 'leaf' ORDER BY path")
    .pluck()
    .all() as number[];
  const before = db.prepare('SELECT run, row, "tS", "groundSpeedMps" FROM sample ORDER BY run, row').raw().all();
  db.close();
  const given = spoiled({ name: "sample", pageno: leaves[3] as number });
  const { book } = openBook({ file: given, create: false });
  expect(() => book.samples(1)).toThrow(/: a page with samples of run 1 cannot be read; run rederive$/);
  expect(book.samples(2).samples.tS.length).toBeGreaterThan(1000);
  book.close();
  const { code, err } = await gripbook("rederive", "--book", given);
  expect([code, err.split("\n")[0]]).toEqual([0, "Run 1: a page with its samples was damaged; they are computed again"]);
  expect((await gripbook("check", "--book", given)).out).toMatch(/^Sound: 1 recordings, 2 runs/);
  const mended = new Database(given, { readonly: true });
  expect(mended.prepare('SELECT run, row, "tS", "groundSpeedMps" FROM sample ORDER BY run, row').raw().all()).toEqual(before);
  mended.close();
});
