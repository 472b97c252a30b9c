/**
 * Opens a book and reports what was found: what had to be repaired, what is damaged, what is old. A book that cannot be opened, or not
 * owned where that is required, throws BookError and is closed.
 */
import { resolve } from "node:path";
import type { CoreEvent } from "../shared/contract/contract.ts";
import { openSqliteBook } from "./adapters/sqlite/sqlite-book.ts";
import { ownBook } from "./core/basics/own-book.ts";
import { outdated, type Recovery, recovery } from "./core/deriving/recover.ts";
import { gatesOf } from "./core/judging/own-gates.ts";
import { type Book, BookError } from "./ports/book.ts";

export interface OpenedBook {
  readonly book: Book;
  /** What a process that died left open, and how its runs become final. */
  readonly recovery: Recovery;
  /** What still must be done for a book of an earlier Gripbook; null when nothing. */
  readonly old: string | null;
  /** Runs with damaged figures, one line each. */
  readonly bad: readonly string[];
}

const NOTHING_FOUND: Recovery = {
  told: [],
  waiting: [],
  *derive() {
    yield* [];
    return [];
  },
};

/** A page that cannot be read becomes one line; a later request shows whether that page is needed. */
function readable<T>(spoiled: string[], look: () => T): T | null {
  try {
    return look();
  } catch (error) {
    if (!(error instanceof BookError && error.code === "damaged")) throw error;
    spoiled.push(error.message);
    return null;
  }
}

/** Opens a book and closes recordings that a dead process left open in it; deriving is left to the caller. */
export function openBook(options: { readonly file: string; readonly create: boolean }): OpenedBook {
  const book = openSqliteBook({ ...options, file: resolve(options.file) });
  try {
    const spoiled: string[] = [];
    const found = readable(spoiled, () => recovery(book, gatesOf(book))) ?? NOTHING_FOUND;
    const old = readable(spoiled, () => outdated(book)) ?? null;
    const bad = readable(spoiled, () => book.badRuns(null).map(({ words }) => words)) ?? [];
    return { book, recovery: { ...found, told: [...new Set([...book.notes, ...found.told, ...spoiled, ...book.lostPages()])] }, old, bad };
  } catch (error) {
    book.close();
    throw error;
  }
}

/**
 * For recording: owned before a port is opened, also for the first simulated day. Another process that only reads then does not touch the
 * open recording.
 */
export function openOwned(file: string): OpenedBook {
  const opened = openBook({ file, create: true });
  try {
    ownBook(opened.book);
    return opened;
  } catch (error) {
    opened.book.close();
    throw error;
  }
}

/** What opening reported, as one notice: several notices of the same key would replace each other. */
export function tellOpened(lines: readonly string[], emit: (event: CoreEvent) => void): void {
  if (lines.length > 0) emit({ event: "notice", key: "mended", text: lines.join(". ") });
}

export const linesOf = ({ recovery: { told }, old, bad }: Omit<OpenedBook, "book">) => [...told, ...bad, ...(old === null ? [] : [old])];
