/**
 * Whether a file may be written at a place. A book and its files, a set-up, a link and anything that is not a plain file are never
 * replaced; another file only if the caller allows it. Only looks; a refusal throws FileRefused, one line that says what to name instead.
 */
import { closeSync, existsSync, lstatSync, openSync, readSync } from "node:fs";
import { FileRefused } from "./file-error.ts";
import { isHeldFile } from "./held-files.ts";

/**
 * What may already be at the place. `nothing`: no file of that name; `unforced`: none either, and the remedy names --force; `plain`: a file
 * that is not Gripbook's; `own`: a set-up too, for whatever writes set-ups.
 */
export type Over = "nothing" | "unforced" | "plain" | "own";

/** For commands that take --force. */
export const overWhen = (force: boolean | undefined): Over => (force === true ? "plain" : "unforced");

/** sqlite.org/fileformat2.html, 1.3: the first sixteen bytes. */
const BOOK_BEGINS = Buffer.from("SQLite format 3\0", "latin1");
const BESIDE_A_BOOK = /-(wal|shm|journal|owner|room)$/;
const LARGEST_SET_UP = 1_000_000;

/** At most `most` first bytes of a plain file; none where it cannot be read, or where it is a book that is open here. */
function firstBytes(file: string, most: number): Buffer {
  if (isHeldFile(file)) return Buffer.alloc(0);
  let handle: number;
  try {
    handle = openSync(file, "r");
  } catch {
    // Nobody can tell what it is; then the system's own refusal to write decides.
    return Buffer.alloc(0);
  }
  try {
    const bytes = Buffer.alloc(most);
    return bytes.subarray(0, readSync(handle, bytes));
  } finally {
    closeSync(handle);
  }
}

const isPlain = (file: string) => lstatSync(file, { throwIfNoEntry: false })?.isFile() === true;
const isBook = (file: string) => isPlain(file) && (isHeldFile(file) || firstBytes(file, BOOK_BEGINS.length).equals(BOOK_BEGINS));

/** Recognised by what only a set-up has: signals by role, beside the sources. */
function isSetUp(file: string): boolean {
  const bytes = firstBytes(file, LARGEST_SET_UP);
  try {
    const json = JSON.parse(bytes.toString("utf8").replace(/^\ufeff/, "")) as unknown;
    return typeof json === "object" && json !== null && "signals" in json && ("database" in json || "sources" in json);
  } catch {
    return false;
  }
}

/** `another` is what the remedy asks for: a file, or the folder that would hold it. */
export function checkPlace(file: string, over: Over, another: "file" | "folder" = "file"): void {
  const refuse = (what: string, remedy = `name another ${another}`) => new FileRefused(`${file} ${what}: ${remedy}`);
  const book = file.replace(BESIDE_A_BOOK, "");
  if (book !== file && isBook(book)) throw refuse(`belongs to the book ${book}`);
  const there = lstatSync(file, { throwIfNoEntry: false });
  if (there === undefined) return;
  if (there.isSymbolicLink()) throw refuse("is a link", another === "file" ? "name the file itself" : undefined);
  if (there.isDirectory()) throw refuse("is a folder", another === "file" ? "name a file in it" : undefined);
  if (!there.isFile()) throw refuse("is no plain file");
  if (isBook(file)) throw refuse("is a book");
  if (over !== "own" && isSetUp(file)) throw refuse("is a set-up");
  if (over === "nothing") throw refuse("is there already");
  if (over === "unforced") throw refuse("is there already", `name another ${another}, or add --force`);
}

/** For a file with a new name: whether anything is there, also a dangling link. */
export const isTaken = (file: string): boolean => existsSync(file) || lstatSync(file, { throwIfNoEntry: false }) !== undefined;
