/** What a book needs when it is opened: a recording that a process died in is closed as interrupted and its runs are derived; runs of an earlier Gripbook are named. Whoever cannot own the book leaves it alone. */
import type { Gate } from "../../../shared/launch/gate.ts";
import { type Book, BookError } from "../../ports/book.ts";
import { settle } from "./settle.ts";

/** One line for each recording that was mended; empty when all was well. A recording that cannot be derived says why and stays stored. */
export function recover(book: Book, gates: readonly Gate[]): string[] {
  const unsettled = book.recordings().filter((recording) => recording.state === "open" || !recording.derived);
  if (unsettled.length === 0) return [];
  try {
    if (!book.own()) return [];
  } catch (error) {
    // It can be read all the same.
    if (error instanceof BookError) return [error.message];
    throw error;
  }
  return unsettled.map(({ id, state }) => {
    let what = `Recording ${id} had not been derived`;
    try {
      if (state === "open") what = closeOpen(book, id);
      const { runs } = settle(book, id, { gates, recalibrate: false });
      return `${what} and derived, ${runs.length} ${runs.length === 1 ? "run" : "runs"} found`;
    } catch (error) {
      return `${what}, but deriving failed: ${error instanceof Error ? error.message : String(error)}; its bytes are safe, mend that and run rederive`;
    }
  });
}

/** With what a full disk had kept out of it, where that was kept aside; what it says of that file stops nothing. */
function closeOpen(book: Book, id: number): string {
  let trouble = "";
  try {
    const file = book.takeBack(id);
    if (file !== null) return `Recording ${id} took in what had been kept aside in ${file}: it was closed`;
  } catch (error) {
    if (!(error instanceof BookError) || error.code !== "damaged") throw error;
    trouble = `${error.message}. `;
  }
  book.closeRecording(id, "interrupted");
  return `${trouble}Recording ${id} had been interrupted: it was closed`;
}

/** Runs that an earlier Gripbook derived lack what this one reads of them (the slope of both ways); null where all are of this one. */
export function outdated(book: Book): string | null {
  const count = book.runs().filter((run) => run.final && run.found && run.figures.slopeSigns === undefined).length;
  if (count === 0) return null;
  const whose = count === 1 ? "1 run was" : `${count} runs were`;
  return `${whose} derived by an earlier Gripbook: \`npm run --silent gripbook -- rederive --book ${book.file}\` once brings ${count === 1 ? "it" : "them"} up to this one`;
}
