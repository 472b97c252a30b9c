/**
 * Fits car and tyres in a thread of its own: takes questions, answers one after the other and says how far it is. Reads the book on its own
 * connection; a question that fails is answered with its reason.
 */
import { setPriority } from "node:os";
import { parentPort } from "node:worker_threads";
import type { RunTuneView, SpinView, TuneView } from "../../shared/contract/tune-views.ts";
import type { FromTuning, ToTuning, TuningQuestion } from "../adapters/host/tuning-messages.ts";
import { openSqliteBook } from "../adapters/sqlite/sqlite-book.ts";
import { createSharedAnswers } from "../core/basics/shared-answers.ts";
import { lineOf } from "../core/basics/failure.ts";
import { runTuneView, tunedOf, tuneView } from "../core/judging/advise-book.ts";
import { spinView } from "../core/judging/spin-book.ts";
import type { Book } from "../ports/book.ts";
import type { Listening } from "../ports/set-up-desk.ts";

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

async function answerOf(question: TuningQuestion, listening: Listening): Promise<TuneView | RunTuneView | SpinView> {
  const book = bookAt(question.file);
  if (question.name === "read") return tuneView(book, question.asked, listening);
  return question.name === "run" ? runTuneView(book, question.asked, listening) : spinView(book, question.asked);
}

const say = (message: FromTuning) => port.postMessage(message);
/** One after the other, as they share what was fitted. */
const answers = createSharedAnswers<TuningQuestion, TuneView | RunTuneView | SpinView>({
  keyOf: ({ file, name, asked }) => JSON.stringify([file, name, asked]),
  version: ({ file }) => tunedOf(bookAt(file)),
  work: answerOf,
  answered: (id, answer) => say({ id, ok: true, answer }),
  failed: (id, error) => say({ id, ok: false, error: lineOf(error) }),
  step: (id, step, share) => say({ id, step, share }),
});
port.on("message", (message: ToTuning) => {
  if ("cancel" in message) answers.cancel(message.cancel);
  else answers.ask(message.id, message);
});
