/** What is damaged in a book keeps nothing else from being used: null where `read` meets damage. Any other error goes on. */
import { BookError } from "../../ports/book.ts";

export function orNotReadable<T>(read: () => T): T | null {
  try {
    return read();
  } catch (error) {
    if (error instanceof BookError && error.code === "damaged") return null;
    throw error;
  }
}
