/**
 * Fits car and tyres in a thread of its own: takes questions, answers in the same order. Reads the book on its own connection; a question
 * that fails is answered with its reason.
 */
import { setPriority } from "node:os";
import { parentPort } from "node:worker_threads";
import type { FromTuning, ToTuning } from "../adapters/host/tuning-messages.ts";
import { openSqliteBook } from "../adapters/sqlite/sqlite-book.ts";
import { lineOf } from "../core/basics/failure.ts";
import { runTuneView, tuneView } from "../core/judging/advise-book.ts";
import { spinView } from "../core/judging/spin-book.ts";
import type { Book } from "../ports/book.ts";

/**
 * Lower priority than reading bytes and drawing, which must not wait. Only Linux has a priority for each thread; elsewhere it is the
 * process's.
 */
const NICE = 10;

if (parentPort === null) throw new TypeError("tuning: expected to run as a thread");
const port = parentPort;
if (process.platform === "linux") setPriority(0, NICE);

let open: Book | null = null;

/** The book at its present place. */
function bookAt(file: string): Book {
  if (open !== null && open.file === file && open.whereabouts() !== "gone") return open;
  open?.close();
  open = null;
  open = openSqliteBook({ file, create: false, isOpenInProcess: true });
  return open;
}

const answerOf = (message: ToTuning) => {
  const book = bookAt(message.file);
  if (message.name === "read") return tuneView(book, message.asked);
  return message.name === "run" ? runTuneView(book, message.asked.run, message.asked.gate) : spinView(book, message.asked);
};

const say = (message: FromTuning) => port.postMessage(message);
/** One after the other, as they share what was fitted. */
let before: Promise<void> = Promise.resolve();
port.on("message", (message: ToTuning) => {
  before = before.then(async () => {
    try {
      say({ id: message.id, ok: true, answer: await answerOf(message) });
    } catch (error) {
      say({ id: message.id, ok: false, error: lineOf(error) });
    }
  });
});
