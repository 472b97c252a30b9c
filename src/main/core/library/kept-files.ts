/**
 * Files that people keep with a run, such as a controller's parameters. The book stores the bytes under their SHA-256; the run's condition
 * names both.
 */
import type { Book } from "../../ports/book.ts";
import { isPlainFileName, PLAIN_FILE_NAME } from "../../../shared/kernel/file-name.ts";

/** The condition that names a kept file. */
export const FILE_CONDITION = "controller file";
/** A parameter file is small, and a book should stay small. */
export const MOST_KEPT_BYTES = 4_000_000;

/** The hash that a condition's text ends with, or null. */
export const hashIn = (value: string): string | null => /\bsha256:([0-9a-f]{64})$/.exec(value)?.[1] ?? null;

interface FileToKeep {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Checks and hashes a file; the answer stores it and notes it with a run. Throws RangeError where it is too large, or where its name would be unsafe when somebody exports it. */
export async function readyToKeep(file: FileToKeep): Promise<(book: Book, run: number, utcUs: number) => void> {
  if (!isPlainFileName(file.name)) throw new RangeError(`File to keep: expected ${PLAIN_FILE_NAME}; rename it first`);
  if (file.bytes.length > MOST_KEPT_BYTES)
    throw new RangeError(`File ${file.name}: expected at most ${MOST_KEPT_BYTES / 1e6} MB, got ${(file.bytes.length / 1e6).toFixed(1)}`);
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", Uint8Array.from(file.bytes)));
  const sha256 = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return (book, run, utcUs) =>
    book.transaction(() => {
      book.keepFile({ ...file, sha256 });
      book.setConditions(run, { [FILE_CONDITION]: `${file.name} sha256:${sha256}` }, utcUs);
    });
}
