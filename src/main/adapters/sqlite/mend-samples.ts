/**
 * Gives the table of samples new pages where some of its own cannot be read: the runs that can be read are copied, and the samples of the others are gone until
 * they are derived again. All or nothing; an error leaves the book as it was.
 */
import type { Database } from "better-sqlite3";
import { editSchema, takePages } from "./edit-schema.ts";
import { knownRuns, orDamaged } from "./run-ids.ts";
import { sumOfRows } from "./sample-columns.ts";

/** The numbers of the runs whose samples could not be read; nothing is written where all can. */
export function mendSamples(db: Database): number[] {
  const ids = knownRuns(db).map(({ id }) => id);
  // Reads every value: a page may be damaged in its middle.
  const lost = ids.filter((id) => orDamaged(null, () => sumOfRows(db, id)) === null);
  if (lost.length === 0) return [];
  editSchema(db, () => {
    const sql = db.prepare("SELECT sql FROM sqlite_schema WHERE name = 'sample'").pluck().get() as string;
    db.exec(sql.replace("CREATE TABLE sample", "CREATE TABLE sample_mended"));
    const copy = db.prepare("INSERT INTO sample_mended SELECT * FROM sample WHERE run = ? ORDER BY row");
    for (const id of ids) if (!lost.includes(id)) copy.run(id);
    takePages(db, "sample_mended", [["sample", "sample_mended"]]);
  });
  // The old pages, which nothing names any more, go. See mend-runs.ts.
  orDamaged(undefined, () => db.exec("VACUUM"));
  return lost;
}
