/**
 * Gives the run table new pages where some of its own cannot be read: what can be read is copied, and a run that cannot stands there with its number, its name
 * and what was kept of its label and review, to be derived again. All or nothing; an error leaves the book as it was.
 */
import type { Database } from "better-sqlite3";
import { editSchema, takePages } from "./edit-schema.ts";
import { type KnownRun, knownRuns, orDamaged } from "./run-ids.ts";

const COLUMNS = "id, uid, recording, final, found, label, use, note, movement_ns, calibration, derived, role_units, print";

interface Words {
  readonly label: string;
  readonly use: number;
  readonly note: string;
}

/** The last that a person wrote, from what is kept of every change. */
function wordsOf(db: Database, id: number): Words {
  const last = (what: string): unknown => {
    const text = orDamaged(undefined, () =>
      db.prepare("SELECT after FROM edit WHERE run = ? AND what = ? ORDER BY id DESC LIMIT 1").pluck().get(id, what),
    );
    return typeof text === "string" ? (JSON.parse(text) as unknown) : null;
  };
  const label = last("label");
  const review = (last("review") ?? { use: true, note: "" }) as { use: boolean; note: string };
  return { label: typeof label === "string" ? label : "", use: review.use ? 1 : 0, note: review.note };
}

interface NewRow {
  readonly id: number;
  readonly values: readonly unknown[];
  readonly lost: boolean;
}

/** Null where the book has no recording that it could be of. */
function standIn(db: Database, { id, uid, recording }: KnownRun): NewRow | null {
  const its = recording ?? (db.prepare("SELECT min(id) FROM recording").pluck().get() as number | null);
  if (its === null) return null;
  const { label, use, note } = wordsOf(db, id);
  const name = uid ?? `run-${id}-of-a-damaged-page`;
  return { id, lost: true, values: [id, name, its, 1, 1, label, use, note, 0, null, "", "", ""] };
}

const PAGES = [
  ["run", "run_mended"],
  ["sqlite_autoindex_run_1", "sqlite_autoindex_run_mended_1"],
  ["run_recording", "run_mended_recording"],
] as const;

/** The numbers of the runs that could not be read; nothing is written where all can. */
export function mendRuns(db: Database): number[] {
  const read = db.prepare(`SELECT ${COLUMNS} FROM run WHERE id = ?`).raw().safeIntegers();
  // All of it is read before anything is written: in a transaction that met a damaged page SQLite takes no row any more.
  const rows = knownRuns(db).flatMap((run): NewRow[] => {
    const values = orDamaged(undefined, () => read.get(run.id) as unknown[] | undefined);
    return values === undefined ? [standIn(db, run) ?? []].flat() : [{ id: run.id, lost: false, values }];
  });
  const lost = rows.filter((row) => row.lost).map(({ id }) => id);
  if (lost.length === 0) return [];
  editSchema(db, () => {
    const sql = db.prepare("SELECT sql FROM sqlite_schema WHERE name = 'run'").pluck().get() as string;
    db.exec(`${sql.replace("CREATE TABLE run", "CREATE TABLE run_mended")}; CREATE INDEX run_mended_recording ON run_mended (recording)`);
    const insert = db.prepare(`INSERT INTO run_mended (${COLUMNS}) VALUES (${COLUMNS.replaceAll(/\w+/g, "?")})`);
    for (const { values } of rows) insert.run(...values);
    takePages(db, "run_mended", PAGES);
  });
  // The pages that nothing names any more, the damaged ones among them, go. Where another table has a damaged page too, SQLite copies none of it, and they
  // stay: `check` names them, as it names that page.
  orDamaged(undefined, () => db.exec("VACUUM"));
  return lost;
}
