/**
 * Changes the book's list of tables by hand, where a damaged page keeps SQLite's own statements from it (sqlite.org/pragma.html, writable_schema). All or
 * nothing; an error leaves the book as it was.
 */
import type { Database } from "better-sqlite3";

/** `work` must read no page that may be damaged: SQLite then takes no more writes in the same transaction. */
export function editSchema(db: Database, work: () => void): void {
  db.unsafeMode(true);
  try {
    db.pragma("writable_schema = ON");
    db.transaction(() => {
      work();
      db.pragma(`schema_version = ${(db.pragma("schema_version", { simple: true }) as number) + 1}`);
    }).immediate();
  } finally {
    db.pragma("writable_schema = RESET");
    db.unsafeMode(false);
  }
}

/** The table's schema stays; its pages, and those of its indexes, become those of `from`, which goes. Pairs: [its name, from's]. */
export function takePages(db: Database, from: string, pairs: readonly (readonly [string, string])[]): void {
  for (const [name, other] of pairs)
    db.prepare("UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = ?) WHERE name = ?").run(other, name);
  db.prepare("DELETE FROM sqlite_schema WHERE tbl_name = ?").run(from);
}
