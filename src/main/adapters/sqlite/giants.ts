/**
 * Refuses a book with a value longer than Gripbook ever writes: SQLite takes one of a gigabyte, and whoever reads it would need that and more. Only lengths
 * are read (sqlite.org/lang_corefunc.html, octet_length), and the journal's blocks are left to whoever reads them. A damaged page is left to whoever needs it.
 */
import type { Database } from "better-sqlite3";
import { orDamaged } from "./run-ids.ts";

const MEGABYTE = 1e6;
/** The longest text is a signal file, of at most 16 MB; every other is some kilobytes, a set-up at most a megabyte. A block: a file that is kept with a run. */
const MOST_BYTES: ReadonlyMap<string, number> = new Map([
  ["TEXT", 4 * MEGABYTE],
  ["BLOB", 256 * MEGABYTE],
]);
const MOST_SIGNAL_FILE_BYTES = 32 * MEGABYTE;
const mostOf = (table: string, { name, type }: Column): number =>
  table === "signal_file" && name === "text" ? MOST_SIGNAL_FILE_BYTES : (MOST_BYTES.get(type) ?? 0);
/** Read at every opening; these two have a row each few milliseconds. */
const LONG_TABLES: ReadonlySet<string> = new Set(["journal", "sample"]);
export const MOST_BLOCK_BYTES = 64 * MEGABYTE;

interface Column {
  readonly name: string;
  readonly type: string;
}

const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

/** One sentence of the first that is too long; null where none is. `tables`: those that a book has. */
export function giantIn(db: Database, tables: readonly string[]): string | null {
  for (const table of tables) {
    if (LONG_TABLES.has(table)) continue;
    const columns = (db.pragma(`table_info(${quoted(table)})`) as Column[]).filter(({ type }) => MOST_BYTES.has(type));
    if (columns.length === 0) continue;
    const lengths = columns.map(({ name }) => `coalesce(max(octet_length(${quoted(name)})), 0)`).join(", ");
    const found = orDamaged<number[]>(
      [],
      () =>
        db
          .prepare(`SELECT ${lengths} FROM ${quoted(table)}`)
          .raw()
          .get() as number[],
    );
    const giant = columns.findIndex((column, i) => (found[i] ?? 0) > mostOf(table, column));
    const column = columns[giant];
    if (column !== undefined)
      return `${table}.${column.name} holds ${((found[giant] ?? 0) / MEGABYTE).toFixed(0)} MB, longer than Gripbook writes`;
  }
  return null;
}
