/**
 * Who may record into a book: the process that holds an exclusive lock on a small file beside it. The system drops
 * the lock when the process dies, however it dies, so a recording found open without an owner was interrupted.
 */
import Database from "better-sqlite3";

export interface BookOwner {
  /** True when this process owns the book, now or already. */
  own(): boolean;
  release(): void;
}

export function createBookOwner(bookFile: string): BookOwner {
  let lock: Database.Database | null = null;
  return {
    own() {
      if (lock !== null) return true;
      const db = new Database(`${bookFile}-owner`, { timeout: 0 });
      try {
        db.exec("BEGIN EXCLUSIVE");
        lock = db;
        return true;
      } catch (error) {
        db.close();
        if (String((error as { code?: unknown }).code).startsWith("SQLITE_BUSY")) return false;
        throw error;
      }
    },
    release() {
      lock?.close();
      lock = null;
    },
  };
}
