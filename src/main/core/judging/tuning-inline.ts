/** Tuning in this thread, which waits meanwhile. Each question rejects with one line. */
import type { Book } from "../../ports/book.ts";
import type { Tuning } from "../../ports/tuning.ts";
import { runTuneView, tuneView } from "./advise-book.ts";
import { spinView } from "./spin-book.ts";

export const tuningInline = (book: Book): Tuning => ({
  read: (asked, listening) => tuneView(book, asked, listening),
  run: (asked) => runTuneView(book, asked),
  spin: (asked) => spinView(book, asked),
  close: () => undefined,
});
