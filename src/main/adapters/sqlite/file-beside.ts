/**
 * A new empty file for what cannot be written at the book's own place: beside the book, else in the person's home folder, else in the
 * system's temporary folder. Throws BookError where none of them works.
 */
import { closeSync, openSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { basename, dirname, join } from "node:path";
import { BookError } from "../../ports/book.ts";

const MOST_TRIES = 100;

export const foldersNear = (bookFile: string): readonly string[] => [...new Set([dirname(bookFile), homedir(), tmpdir()])];

/** `make` gives the file's name for the n-th try, from 1. Only its owner can read the file. */
export function makeFileNear(bookFile: string, make: (count: number) => string): string {
  let why: unknown;
  for (const folder of foldersNear(bookFile)) {
    for (let count = 1; count <= MOST_TRIES; count += 1) {
      const file = join(folder, make(count));
      try {
        closeSync(openSync(file, "wx", 0o600));
        return file;
      } catch (error) {
        why = error;
        if ((error as { code?: unknown }).code !== "EEXIST") break;
      }
    }
  }
  throw new BookError("full", `Book ${basename(bookFile)}: no other place can be written either, ${foldersNear(bookFile).join(", ")}`, {
    cause: why,
  });
}
