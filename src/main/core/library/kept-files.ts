/** Files that people keep with a run, such as a controller's parameters: the book holds the bytes under their SHA-256, the run's condition names both. */
import type { Book } from "../../ports/book.ts";
import { isPlainFileName, PLAIN_FILE_NAME } from "../../../shared/kernel/file-name.ts";

/** The condition that names a kept file. */
export const FILE_CONDITION = "controller file";
/** A parameter file is small; a book should stay one. */
export const MOST_KEPT_BYTES = 4_000_000;

/** The hash that a condition's text ends with, or null. */
export const hashIn = (value: string): string | null => /\bsha256:([0-9a-f]{64})$/.exec(value)?.[1] ?? null;

/** Keeps it and notes it with the run. Throws RangeError where it is too large, or where its name would be trouble to whoever takes it out again. */
export async function keepRunFile(
  book: Book,
  run: number,
  file: { readonly name: string; readonly bytes: Uint8Array },
  utcUs: number,
): Promise<void> {
  if (!isPlainFileName(file.name)) throw new RangeError(`File to keep: expected ${PLAIN_FILE_NAME}; rename it first`);
  if (file.bytes.length > MOST_KEPT_BYTES)
    throw new RangeError(`File ${file.name}: expected at most ${MOST_KEPT_BYTES / 1e6} MB, got ${(file.bytes.length / 1e6).toFixed(1)}`);
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", Uint8Array.from(file.bytes)));
  const sha256 = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  book.transaction(() => {
    book.keepFile({ ...file, sha256 });
    book.setConditions(run, { [FILE_CONDITION]: `${file.name} sha256:${sha256}` }, utcUs);
  });
}
