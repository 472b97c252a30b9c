/** The book's runs and the data beside them, as last read. A failed reading rejects, and the data read before stay. */
import type { BookView, Bridge, RunRow } from "../../shared/contract/contract.ts";

export interface BookRuns {
  /** All runs of the book, oldest first. */
  runs(): readonly RunRow[];
  /** Groups of the book; a group's place in this list decides its mark. */
  groups(): readonly string[];
  car(): string;
  bookFile(): string;
  simulated(): boolean;
  read(): Promise<BookView>;
}

export function createBookRuns(bridge: Bridge): BookRuns {
  let book: BookView = { runs: [], groups: [], car: "", bookFile: "", simulated: false };
  return {
    runs: () => book.runs,
    groups: () => book.groups,
    car: () => book.car,
    bookFile: () => book.bookFile,
    simulated: () => book.simulated,
    async read() {
      book = await bridge.request("book.open", {});
      return book;
    },
  };
}
