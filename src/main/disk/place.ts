/**
 * Whether a file may be written at a place. A book, what belongs to one, a set-up, a link and whatever is no plain file stay always; another file stays
 * unless it was told to give way. Looks only; a refusal throws FileRefused, one line that says what to name instead.
 */
import { closeSync, existsSync, lstatSync, openSync, readSync } from "node:fs";
import { FileRefused } from "./file-error.ts";

/**
 * What may be at the place already. `nothing`: no file of that name; `unforced`: none either, and the remedy names --force; `plain`: a file of no
 * worth to Gripbook; `own`: a set-up too, for what writes set-ups.
 */
export type Over = "nothing" | "unforced" | "plain" | "own";

/** For commands that take --force. */
export const overWhen = (force: boolean | undefined): Over => (force === true ? "plain" : "unforced");

/** sqlite.org/fileformat2.html, 1.3: the first sixteen bytes. */
const BOOK_BEGINS = Buffer.from("SQLite format 3\0", "latin1");
const BESIDE_A_BOOK = /-(wal|shm|journal|owner)$/;
const LARGEST_SET_UP = 1_000_000;

/** The first bytes of a plain file, at most `most`; none where it may not be read. */
function firstBytes(file: string, most: number): Buffer {
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
const isBook = (file: string) => isPlain(file) && firstBytes(file, BOOK_BEGINS.length).equals(BOOK_BEGINS);

/** By what only a set-up has: signals by role, beside where they come from. */
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

/** For a file whose name nobody has yet: whether anything stands there, a dangling link too. */
export const isTaken = (file: string): boolean => existsSync(file) || lstatSync(file, { throwIfNoEntry: false }) !== undefined;
