/**
 * Reads a file that a person or a set-up named. It must be a plain file of bounded size, so that no pipe blocks, no device is read and no
 * serial port is opened by mistake. Throws FileRefused: one line with what the file should be, its path, and what to do.
 */
import { closeSync, constants, fstatSync, openSync, readSync, type Stats, statSync } from "node:fs";
import { codeOf, FileRefused } from "./file-error.ts";
import { isHeld, isHeldFile } from "./held-files.ts";

export interface Wanted {
  readonly file: string;
  /** What it should be: "Set-up", "Signal file". */
  readonly what: string;
}

const MEGABYTE = 1e6;
/** For files that people write by hand: set-ups, plans. */
export const MOST_TEXT_BYTES = MEGABYTE;
/** Ten times the largest signal file known of a car; a bus has 2,048 ids. */
export const MOST_SIGNAL_FILE_BYTES = 16 * MEGABYTE;

const WHY: ReadonlyMap<string, string> = new Map([
  ["ENOENT", "not found"],
  ["ENOTDIR", "not found"],
  ["EACCES", "may not be read"],
  ["EPERM", "may not be read"],
  ["EISDIR", "a folder, not a file"],
  ["ELOOP", "a link that leads nowhere"],
  ["ENAMETOOLONG", "a longer name than any file has"],
]);

function checkKind(stats: Stats, { file, what }: Wanted): void {
  if (stats.isDirectory()) throw new FileRefused(`${what} ${file}: a folder, not a file; name the file in it`);
  if (!stats.isFile()) throw new FileRefused(`${what} ${file}: no plain file; name one on a disk`);
}

const openBook = ({ file, what }: Wanted) => new FileRefused(`${what} ${file}: a book that is open here; name another file`);

/**
 * Opens a file for reading. Checked before, since opening alone can wake a serial port, and again after, since the name may change
 * meanwhile; a pipe does not block.
 */
export function openPlainFile(wanted: Wanted): number {
  let handle: number | null = null;
  try {
    checkKind(statSync(wanted.file), wanted);
    if (isHeldFile(wanted.file)) throw openBook(wanted);
    handle = openSync(wanted.file, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
    if (isHeld(fstatSync(handle, { bigint: true }))) {
      // The name changed hands just now: closing this would drop the book's locks, so it stays open.
      handle = null;
      throw openBook(wanted);
    }
    checkKind(fstatSync(handle), wanted);
    return handle;
  } catch (cause) {
    if (handle !== null) closeSync(handle);
    if (cause instanceof FileRefused) throw cause;
    throw new FileRefused(`${wanted.what} ${wanted.file}: ${WHY.get(codeOf(cause)) ?? codeOf(cause)}; check the path`, { cause });
  }
}

/** The whole file. Never holds more than `mostBytes`, even where the file grows while it is read. */
export function readPlainFile(wanted: Wanted, mostBytes: number): Buffer {
  const handle = openPlainFile(wanted);
  try {
    const { size } = fstatSync(handle);
    const tooLarge = (bytes: number) =>
      new FileRefused(
        `${wanted.what} ${wanted.file}: has ${(bytes / MEGABYTE).toFixed(1)} MB; expected at most ${mostBytes / MEGABYTE} MB; name another file`,
      );
    if (size > mostBytes) throw tooLarge(size);
    const bytes = Buffer.alloc(size);
    let length = 0;
    while (length < size) {
      const read = readSync(handle, bytes, length, size - length, null);
      if (read === 0) break;
      length += read;
    }
    return bytes.subarray(0, length);
  } finally {
    closeSync(handle);
  }
}
