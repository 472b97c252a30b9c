/** The book's runs and what stands beside them, as read last. Reading that fails rejects, and what was read before stays. */
import type { BookView, Bridge, RunRow } from "../../shared/contract/contract.ts";

export interface BookRuns {
  /** All runs of the book, oldest first. */
  runs(): readonly RunRow[];
  car(): string;
  bookFile(): string;
  simulated(): boolean;
  read(): Promise<BookView>;
}

export function createBookRuns(bridge: Bridge): BookRuns {
  let book: BookView = { runs: [], car: "", bookFile: "", simulated: false };
  return {
    runs: () => book.runs,
    car: () => book.car,
    bookFile: () => book.bookFile,
    simulated: () => book.simulated,
    async read() {
      book = await bridge.request("book.open", {});
      return book;
    },
  };
}
