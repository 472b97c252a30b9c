/** Fits car and tyres in a thread of its own: questions in, answers out in the same order. Reads the book by a connection of its own; a question that fails is answered with its reason. */
import { setPriority } from "node:os";
import { parentPort } from "node:worker_threads";
import type { FromTuning, ToTuning } from "../adapters/host/tuning-messages.ts";
import { openSqliteBook } from "../adapters/sqlite/sqlite-book.ts";
import { lineOf } from "../core/basics/failure.ts";
import { runTuneView, tuneView } from "../core/judging/advise-book.ts";
import type { Book } from "../ports/book.ts";

/** Behind everything that must not wait: reading bytes and drawing. Only Linux gives a thread a priority of its own, elsewhere it is the process's. */
const NICE = 10;

if (parentPort === null) throw new TypeError("tuning: expected to run as a thread");
const port = parentPort;
if (process.platform === "linux") setPriority(0, NICE);

let open: Book | null = null;

/** The book where it is now. */
function bookAt(file: string): Book {
  if (open !== null && open.file === file && open.whereabouts() !== "gone") return open;
  open?.close();
  open = null;
  open = openSqliteBook({ file, create: false });
  return open;
}

const answerOf = (message: ToTuning) => {
  const book = bookAt(message.file);
  return message.name === "read" ? tuneView(book, message.asked) : runTuneView(book, message.asked.run, message.asked.gate);
};

const say = (message: FromTuning) => port.postMessage(message);
/** One after the other: they share what was fitted. */
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
