/** Gathers what happened in a thread of its own and answers with the text. The book is read on a connection of its own; one that cannot be read is said in the text. */
import { setPriority } from "node:os";
import { resolve } from "node:path";
import { parentPort, workerData } from "node:worker_threads";
import { wordsOf } from "../../shared/kernel/words-of.ts";
import type { HappenedWork } from "../adapters/host/happened-thread.ts";
import { openSqliteBook } from "../adapters/sqlite/sqlite-book.ts";
import { bookLines, happenedText, unreadableBook } from "../happened-text.ts";

/** Nobody waits for it as bytes and screens are waited for. Only Linux has a priority for each thread. */
const NICE = 10;
if (process.platform === "linux") setPriority(0, NICE);
const { bookFile, ...asked } = workerData as HappenedWork;

function linesOfBook(): string[] {
  try {
    const book = openSqliteBook({ file: bookFile, create: false, isOpenInProcess: true });
    try {
      return bookLines(book, asked.withPositions);
    } finally {
      book.close();
    }
  } catch (error) {
    return unreadableBook(resolve(bookFile), wordsOf(error));
  }
}

parentPort?.postMessage(happenedText({ ...asked, book: linesOfBook() }));
