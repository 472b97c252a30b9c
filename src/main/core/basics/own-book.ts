/** Owns a book or refuses: whoever records, imports, derives or merges is the only one that does, from before it opens a port. Throws BookError. */
import { type Book, BookError } from "../../ports/book.ts";

export function ownBook(book: Book): void {
  if (!book.own()) throw new BookError("busy", `Book ${book.file}: another Gripbook records into it; close that one or name another book`);
}
