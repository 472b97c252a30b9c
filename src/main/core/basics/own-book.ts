/**
 * Takes ownership of a book, or refuses: only one process at a time may record, import, derive or merge. It must own the book before it
 * opens a port. Throws BookError.
 */
import { type Book, BookError } from "../../ports/book.ts";

export function ownBook(book: Book): void {
  if (!book.own()) throw new BookError("busy", `Book ${book.file}: another Gripbook records into it; close that one or name another book`);
}
