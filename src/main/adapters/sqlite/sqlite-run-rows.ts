/**
 * Run rows as runs. The figures of a row are read once and kept until somebody writes them, here or in another process, so that a book of hundreds is
 * listed in milliseconds. Broken JSON throws SyntaxError.
 */
import type { RunPrint } from "../../../shared/run/run-print.ts";
import type { Database } from "better-sqlite3";
import type { RunFigures, StoredRun } from "../../ports/book.ts";
import { fromExactJson } from "./exact-json.ts";

interface RunRow {
  id: number;
  uid: string;
  recording: number;
  final: number;
  found: number;
  label: string;
  use: number;
  note: string;
  calibration: number | null;
}

type FromJson = Pick<StoredRun, "figures" | "roleUnits" | "print">;
/** A run's conditions or overruled flags: [run, key, value]. */
type Said = [run: number, key: string, value: string];

const SELECT = "SELECT id, uid, recording, final, found, label, use, note, calibration FROM run";
const SELECT_JSON = "SELECT derived, role_units, print FROM run WHERE id = ?";
const ORDER = "ORDER BY recording, movement_ns, id";
const CONDITIONS = "SELECT run, key, value FROM condition";
const OVERRULED = "SELECT run, flag, note FROM overrule";

interface RunRows {
  all(): StoredRun[];
  of(recording: number): StoredRun[];
  one(id: number): StoredRun | null;
  /** Must be told of every write to a run's figures on this connection. */
  written(id: number): void;
}

function byRun(said: readonly Said[]): Map<number, Record<string, string>> {
  const runs = new Map<number, Record<string, string>>();
  for (const [run, key, value] of said) runs.set(run, { ...runs.get(run), [key]: value });
  return runs;
}

export function createRunRows(db: Database): RunRows {
  const kept = new Map<number, FromJson>();
  let seenVersion: unknown = null;

  /** Counts what other connections commit (sqlite.org/pragma.html, data_version); this one's own writes are told. */
  function dropForeign(): void {
    const version = db.pragma("data_version", { simple: true });
    if (version !== seenVersion) kept.clear();
    seenVersion = version;
  }

  function readJson(id: number): FromJson {
    const known = kept.get(id);
    if (known !== undefined) return known;
    const [derived, roleUnits, print] = db.prepare(SELECT_JSON).raw().get(id) as [string, string, string];
    const read: FromJson = {
      figures: fromExactJson(derived) as RunFigures,
      roleUnits: JSON.parse(roleUnits) as Record<string, string>,
      print: JSON.parse(print) as RunPrint,
    };
    // A transaction may yet be taken back.
    if (!db.inTransaction) kept.set(id, read);
    return read;
  }

  function toRuns(where: string, ...values: number[]): StoredRun[] {
    const rows = db.prepare(`${SELECT} ${where}`).all(...values) as RunRow[];
    // After the rows: a commit of somebody else in between then costs a second reading, never an old figure.
    dropForeign();
    const [only] = rows;
    const said = (select: string, key: string) =>
      byRun(
        (only !== undefined && rows.length === 1
          ? db.prepare(`${select} WHERE run = ? ORDER BY ${key}`).raw().all(only.id)
          : db.prepare(`${select} ORDER BY run, ${key}`).raw().all()) as Said[],
      );
    const conditions = said(CONDITIONS, "key");
    const overruled = said(OVERRULED, "flag");
    return rows.map((row) => ({
      id: row.id,
      uid: row.uid,
      recording: row.recording,
      final: row.final === 1,
      found: row.found === 1,
      label: row.label,
      use: row.use === 1,
      note: row.note,
      calibration: row.calibration,
      ...readJson(row.id),
      conditions: conditions.get(row.id) ?? {},
      overruled: overruled.get(row.id) ?? {},
    }));
  }

  return {
    all: () => toRuns(ORDER),
    of: (recording) => toRuns(`WHERE recording = ? ${ORDER}`, recording),
    one: (id) => toRuns("WHERE id = ?", id)[0] ?? null,
    written: (id) => void kept.delete(id),
  };
}
