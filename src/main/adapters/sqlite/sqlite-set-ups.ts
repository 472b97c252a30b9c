/** Set-ups in the book with their signal files, identified by their content. Throws what the database throws. */
import type { Database } from "better-sqlite3";
import type { StoredSetUp } from "../../ports/book.ts";
import { setUpHash, signalFilesOf } from "./sqlite-hashes.ts";

/** One row for each different set-up: recordings of a day share theirs. */
export function storeSetUp(db: Database, { text, signalFiles }: StoredSetUp): number {
  const sha256 = setUpHash(text, signalFiles);
  const known = db.prepare("SELECT id, text FROM set_up WHERE sha256 = ?").get(sha256) as { id: number; text: string } | undefined;
  if (known !== undefined && setUpHash(known.text, signalFilesOf(db, known.id)) === sha256) return known.id;
  // A damaged one is replaced.
  if (known !== undefined) db.prepare("DELETE FROM signal_file WHERE set_up = ?").run(known.id);
  const { id } = db
    .prepare("INSERT INTO set_up (sha256, text) VALUES (?, ?) ON CONFLICT (sha256) DO UPDATE SET text = excluded.text RETURNING id")
    .get(sha256, text) as { id: number };
  const insert = db.prepare("INSERT INTO signal_file VALUES (?, ?, ?, ?)");
  signalFiles.forEach((signalFile, position) => {
    insert.run(id, position, signalFile.name, signalFile.text);
  });
  return id;
}
