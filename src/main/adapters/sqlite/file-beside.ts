/** A new empty file for what a book's own place cannot take: beside it, else in the person's home, else among the system's temporary files. Where none takes one, throws BookError. */
import { closeSync, openSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { basename, dirname, join } from "node:path";
import { BookError } from "../../ports/book.ts";

const MOST_TRIES = 100;

export const foldersNear = (bookFile: string): readonly string[] => [dirname(bookFile), homedir(), tmpdir()];

/** `make` names the file for the n-th try, from 1. Readable by its owner alone. */
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
