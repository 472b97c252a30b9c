/**
 * Reads run rows as runs. A row's figures are read once and cached until somebody writes them, here or in another process, so that a book
 * of hundreds is listed in milliseconds. A run whose figures or whose page are damaged is left out of the lists and named separately.
 */
import { byWord } from "../../../shared/kernel/by-word.ts";
import type { RunPrint } from "../../../shared/run/run-print.ts";
import type { Database } from "better-sqlite3";
import { type BadRun, BookError, type RunFigures, type StoredRun } from "../../ports/book.ts";
import { fromExactJson } from "./exact-json.ts";
import { isFigures, isPrint, isUnits } from "./figures-shape.ts";
import { readableRows } from "./lost-pages.ts";
import { knownRuns, orDamaged } from "./run-ids.ts";
import { keptStatements } from "./kept-statements.ts";
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
  /** Throws BookError where it is a damaged run. */
  one(id: number): StoredRun | null;
  bad(recording: number | null): BadRun[];
  /** Must be called after every write to a run's figures on this connection. */
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
    const read = {
      figures: fromExactJson(derived ?? ""),
      roleUnits: JSON.parse(roleUnits ?? "") as unknown,
      print: JSON.parse(print ?? "") as unknown,
    };
    if (!isFigures(read.figures) || !isUnits(read.roleUnits) || !isPrint(read.print)) return null;
    return read as { figures: RunFigures; roleUnits: Record<string, string>; print: RunPrint };
  } catch (error) {
    // A made-up text that is nested too deeply is a RangeError.
    if (error instanceof SyntaxError || error instanceof RangeError) return null;
    throw error;
  }
}

const badWords = (id: number) =>
  `Run ${id}: its stored figures are damaged; \`rederive\` computes them again from the journal, and keeps its label and notes`;

const lostWords = (id: number) =>
  `Run ${id}: the page of the book that it is on is damaged; \`rederive\` computes it again from the journal, and gives it back what was kept of its label and notes`;

const inOrder = (a: RunRow, b: RunRow) => a.recording - b.recording || a.movement_ns - b.movement_ns || a.id - b.id;

/** A page that cannot be read takes the runs that are on it with it, and no others: then each is asked for by itself. */
function createRowReads(db: Database) {
  const byId = db.prepare(`${SELECT} WHERE id = ?`);
  const hasSeals = db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'seal'").get() !== undefined;
  const one = (id: number): RunRow | null => orDamaged(null, () => (byId.get(id) as RunRow | undefined) ?? null);

  /** Null where they cannot be read in one go, or are fewer than were sealed. */
  function atOnce(): RunRow[] | null {
    return orDamaged(null, () => {
      const rows = db.prepare(`${SELECT} ${ORDER}`).all() as RunRow[];
      const sealed = hasSeals ? (db.prepare("SELECT count(*) FROM seal WHERE what = 'figures'").pluck().get() as number) : 0;
      return rows.length < sealed ? null : rows;
    });
  }

  return {
    one,
    all: (): RunRow[] =>
      atOnce() ??
      knownRuns(db)
        .flatMap(({ id }) => one(id) ?? [])
        .sort(inOrder),
    /** Those of which no row can be read. */
    lost: () => (atOnce() === null ? knownRuns(db).filter(({ id }) => one(id) === null) : []),
  };
}

export function createRunRows(db: Database, file: string, seals: Seals): RunRows {
  /** Null for a damaged one. */
  const kept = new Map<number, FromJson | null>();
  const statement = keptStatements(db, (prepared) => prepared.raw());
  const reads = createRowReads(db);
  let seenVersion: unknown = null;

  /** Detects commits of other connections (sqlite.org/pragma.html, data_version); those of this one are reported by `written`. */
  function dropForeign(): void {
    const version = db.pragma("data_version", { simple: true });
    if (version !== seenVersion) kept.clear();
    seenVersion = version;
  }

  /** Null for a damaged one. */
  function readJson(id: number): FromJson | null {
    const known = kept.get(id);
    if (known !== undefined) return known;
    // Compared before it is parsed: JSON with a changed digit is still valid JSON.
    const read = seals.isWhole("figures", id) ? orDamaged(null, () => readFigures(statement(SELECT_JSON).get(id) as string[])) : null;
    // A transaction may still be rolled back, so nothing is cached inside one.
    if (!db.inTransaction) kept.set(id, read);
    return read;
  }

  function bad(recording: number | null): BadRun[] {
    const rows = reads.all().filter((row) => recording === null || row.recording === recording);
    dropForeign();
    const spoiled = rows
      .filter(({ id }) => readJson(id) === null)
      .map(({ id, uid, recording: of, final, movement_ns }) => ({
        ...{ id, uid, recording: of, final: final === 1 },
        movementS: movement_ns / 1e9,
        words: badWords(id),
      }));
    const lost = reads
      .lost()
      .filter((run) => recording === null || run.recording === recording)
      .map(({ id, uid, recording: of }) => ({
        ...{ id, uid: uid ?? "", recording: of ?? 0, final: true },
        movementS: Number.NaN,
        words: lostWords(id),
      }));
    return [...spoiled, ...lost];
  }

  function toRuns(rows: readonly RunRow[]): StoredRun[] {
    // After the rows: a commit of another process in between then costs a second reading, and an old figure is never cached.
    dropForeign();
    const [only] = rows;
    const said = (select: string, key: string) =>
      byRun(
        only !== undefined && rows.length === 1
          ? readableRows<Said>(statement(`${select} WHERE run = ? ORDER BY ${key}`), only.id)
          : readableRows<Said>(statement(`${select} ORDER BY run, ${key}`)),
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
    all: () => toRuns(reads.all()),
    of: (recording) => toRuns(reads.all().filter((row) => row.recording === recording)),
    one(id) {
      const row = reads.one(id);
      if (row === null && reads.lost().some((run) => run.id === id)) throw new BookError("damaged", `Book ${file}: ${lostWords(id)}`);
      const [run] = row === null ? [] : toRuns([row]);
      if (run === undefined && row !== null) throw new BookError("damaged", `Book ${file}: ${badWords(id)}`);
      return run ?? null;
    },
    bad,
    written: (id) => void kept.delete(id),
  };
}
