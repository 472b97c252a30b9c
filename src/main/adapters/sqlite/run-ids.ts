/**
 * What is known of every run though a page of the run table cannot be read: the table's indexes hold number, name and recording, and the seals the
 * number. Each source is read as far as it goes; damage in all of them leaves a run out.
 */
import type { Database } from "better-sqlite3";

export interface KnownRun {
  readonly id: number;
  /** Null where the index of names cannot be read. */
  readonly uid: string | null;
  readonly recording: number | null;
}

export const isDamage = (error: unknown) => String((error as { code?: unknown }).code).startsWith("SQLITE_CORRUPT");

/** What is behind a damaged page is none of `work`'s answer; `instead` is. */
export function orDamaged<T>(instead: T, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!isDamage(error)) throw error;
    return instead;
  }
}

type Pair = [id: number, value: unknown];

/** Rows up to where they can be read. */
function readable(db: Database, sql: string): Pair[] {
  const rows: Pair[] = [];
  orDamaged(undefined, () => {
    for (const row of db.prepare(sql).raw().iterate() as IterableIterator<Pair>) rows.push(row);
  });
  return rows;
}

/** Every run that any of them knows, by number. */
export function knownRuns(db: Database): KnownRun[] {
  // Read from an index alone (sqlite.org/queryplanner.html, "Covering Indexes").
  const uids = new Map([
    ...readable(db, "SELECT id, uid FROM run INDEXED BY sqlite_autoindex_run_1 ORDER BY uid"),
    ...readable(db, "SELECT id, uid FROM run NOT INDEXED"),
  ]);
  const recordings = new Map(readable(db, "SELECT id, recording FROM run INDEXED BY run_recording ORDER BY recording"));
  const sealed = readable(db, "SELECT id, 0 FROM seal WHERE what = 'figures'").map(([id]) => id);
  const ids = [...new Set([...uids.keys(), ...recordings.keys(), ...sealed])].sort((a, b) => a - b);
  return ids.map((id) => {
    const [uid, recording] = [uids.get(id), recordings.get(id)];
    return { id, uid: typeof uid === "string" ? uid : null, recording: typeof recording === "number" ? recording : null };
  });
}
