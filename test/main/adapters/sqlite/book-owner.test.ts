/**
 * One owner a book, by whichever path it is opened. Sources: sqlite.org/howtocorrupt.html (2.2 and 2.5), stat(2): device and inode identify
 * a file.
 */
import { linkSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import type { Book } from "../../../../src/main/ports/book.ts";

let folder = "";
let books: Book[] = [];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
});
afterEach(() => {
  for (const book of books) book.close();
  books = [];
  rmSync(folder, { recursive: true, force: true });
});

const inFolder = (name: string) => join(folder, name);
function opened(name: string): Book {
  const book = openSqliteBook({ file: inFolder(name), create: true });
  books.push(book);
  return book;
}

test("a link to the book or to its folder is the same book: its second owner is refused", () => {
  mkdirSync(inFolder("days"));
  const first = opened("days/a.gripbook");
  symlinkSync(inFolder("days/a.gripbook"), inFolder("link.gripbook"));
  symlinkSync(inFolder("days"), inFolder("linked"));
  expect(first.own()).toBe(true);
  expect(opened("link.gripbook").own()).toBe(false);
  expect(opened("linked/a.gripbook").own()).toBe(false);
});

test("a book that was moved while it is owned has its owner still", () => {
  opened("a.gripbook").close();
  books = [];
  expect(opened("a.gripbook").own()).toBe(true);
  renameSync(inFolder("a.gripbook"), inFolder("moved.gripbook"));
  expect(opened("moved.gripbook").own()).toBe(false);
});

test("a book under two names is refused in one line: SQLite keeps a journal for each name", () => {
  opened("a.gripbook").close();
  books = [];
  linkSync(inFolder("a.gripbook"), inFolder("b.gripbook"));
  expect(() => openSqliteBook({ file: inFolder("b.gripbook"), create: false })).toThrow(
    /b\.gripbook: this file has 2 names \(hard links\).*copy/,
  );
});

test("a spoiled lock file is said to be one, and the book is read all the same", () => {
  const book = opened("a.gripbook");
  writeFileSync(inFolder("a.gripbook-owner"), "no lock at all, but long enough to be read as a database. ".repeat(20));
  expect(() => book.own()).toThrow(/^Lock file .*a\.gripbook-owner is damaged, the book is not: delete that file/);
  expect(book.runs()).toEqual([]);
});

test("a book that was let go leaves no lock file", () => {
  const book = opened("a.gripbook");
  expect(book.own()).toBe(true);
  book.close();
  books = [];
  expect(readdirSync(folder)).toEqual(["a.gripbook"]);
});
