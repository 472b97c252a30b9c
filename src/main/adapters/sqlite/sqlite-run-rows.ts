/**
 * Run rows as runs. The figures of a row are read once and kept until somebody writes them, here or in another process, so that a book of hundreds is
 * listed in milliseconds. A run whose figures cannot be read, or are not those that were written, is left out of the lists and named by itself.
 */
import { byWord } from "../../../shared/kernel/by-word.ts";
import type { RunPrint } from "../../../shared/run/run-print.ts";
import type { Database } from "better-sqlite3";
import { type BadRun, BookError, type RunFigures, type StoredRun } from "../../ports/book.ts";
import { fromExactJson } from "./exact-json.ts";
import type { Seals } from "./sqlite-seals.ts";

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
  movement_ns: number;
}

type FromJson = Pick<StoredRun, "figures" | "roleUnits" | "print">;
/** A run's conditions or overruled flags: [run, key, value]. */
type Said = [run: number, key: string, value: string];

const SELECT = "SELECT id, uid, recording, final, found, label, use, note, calibration, movement_ns FROM run";
const SELECT_JSON = "SELECT derived, role_units, print FROM run WHERE id = ?";
const ORDER = "ORDER BY recording, movement_ns, id";
const CONDITIONS = "SELECT run, key, value FROM condition";
const OVERRULED = "SELECT run, flag, note FROM overrule";

interface RunRows {
  all(): StoredRun[];
  of(recording: number): StoredRun[];
  /** Throws BookError where it is one of the bad. */
  one(id: number): StoredRun | null;
  bad(recording: number | null): BadRun[];
  /** Must be told of every write to a run's figures on this connection. */
  written(id: number): void;
}

function byRun(said: readonly Said[]): Map<number, Record<string, string>> {
  const runs = new Map<number, Record<string, string>>();
  for (const [run, key, value] of said) {
    const words = runs.get(run) ?? byWord();
    words[key] = value;
    runs.set(run, words);
  }
  return runs;
}

function readFigures([derived, roleUnits, print]: readonly string[]): FromJson | null {
  try {
    return {
      figures: fromExactJson(derived ?? "") as RunFigures,
      roleUnits: JSON.parse(roleUnits ?? "") as Record<string, string>,
      print: JSON.parse(print ?? "") as RunPrint,
    };
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

const badWords = (id: number) =>
  `Run ${id}: its stored figures are damaged; \`rederive\` computes them again from the journal, and keeps its label and notes`;

export function createRunRows(db: Database, file: string, seals: Seals): RunRows {
  const kept = new Map<number, FromJson>();
  let seenVersion: unknown = null;

  /** Counts what other connections commit (sqlite.org/pragma.html, data_version); this one's own writes are told. */
  function dropForeign(): void {
    const version = db.pragma("data_version", { simple: true });
    if (version !== seenVersion) kept.clear();
    seenVersion = version;
  }

  /** Null for a bad one. */
  function readJson(id: number): FromJson | null {
    const known = kept.get(id);
    if (known !== undefined) return known;
    // Compared before it is parsed: a changed digit is good JSON too.
    const read = seals.isWhole("figures", id) ? readFigures(db.prepare(SELECT_JSON).raw().get(id) as string[]) : null;
    // A transaction may yet be taken back.
    if (!db.inTransaction && read !== null) kept.set(id, read);
    return read;
  }

  function bad(recording: number | null): BadRun[] {
    const rows = db.prepare(`${SELECT} WHERE ? IS NULL OR recording = ? ${ORDER}`).all(recording, recording) as RunRow[];
    dropForeign();
    return rows
      .filter(({ id }) => readJson(id) === null)
      .map(({ id, uid, recording: of, final, movement_ns }) => ({
        ...{ id, uid, recording: of, final: final === 1 },
        movementS: movement_ns / 1e9,
        words: badWords(id),
      }));
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
    return rows.flatMap((row): StoredRun[] => {
      const read = readJson(row.id);
      if (read === null) return [];
      const { id, uid, recording, label, note, calibration } = row;
      const said = { conditions: conditions.get(id) ?? byWord(), overruled: overruled.get(id) ?? byWord() };
      return [
        {
          id,
          uid,
          recording,
          final: row.final === 1,
          found: row.found === 1,
          label,
          use: row.use === 1,
          note,
          calibration,
          ...read,
          ...said,
        },
      ];
    });
  }

  return {
    all: () => toRuns(ORDER),
    of: (recording) => toRuns(`WHERE recording = ? ${ORDER}`, recording),
    one(id) {
      const [run] = toRuns("WHERE id = ?", id);
      if (run === undefined && db.prepare("SELECT 1 FROM run WHERE id = ?").get(id) !== undefined)
        throw new BookError("damaged", `Book ${file}: ${badWords(id)}`);
      return run ?? null;
    },
    bad,
    written: (id) => void kept.delete(id),
  };
}
