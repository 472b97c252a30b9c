/**
 * Checksums for everything in the book that has none of its own. A seal is the CRC-32 (as in zlib) of a group of rows, written with the
 * rows and compared when they are read or checked. The bytes of journal blocks, set-ups and kept files have their own. A group that cannot
 * be read counts as damaged.
 */
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";
import { keptStatements } from "./kept-statements.ts";
import { isDamage, orDamaged } from "./run-ids.ts";
import { sumOfRows } from "./sample-columns.ts";

interface Group {
  /** Statements that read all sealed rows; `?` is the group's id. */
  readonly rows: readonly string[];
  /** Ids of the groups that must be whole. */
  readonly ids: string;
  /** All ids that exist: a seal without one shows that rows are gone. */
  readonly all: string;
  /** The message for damaged group `?`, with the remedy. */
  readonly fault: string;
}

const RECORDINGS = { ids: "SELECT id FROM recording WHERE state <> 'open'", all: "SELECT id FROM recording" } as const;
const RUNS = { ids: "SELECT id FROM run", all: "SELECT id FROM run" } as const;
export const CHANGED = "not what was written: damaged, or changed by another program";
const LOST = "use a copy of the book from before, or go on and know it";

const GROUPS = {
  recording: {
    ...RECORDINGS,
    rows: ["SELECT uid, origin, base_utc_ns, end_ns, state, derived, can_format, set_up FROM recording WHERE id = ?"],
    fault: `recording ?: its start, state or set-up is ${CHANGED}; ${LOST}`,
  },
  journal: {
    ...RECORDINGS,
    rows: [
      "SELECT block, from_ns, to_ns, gnss_first, gnss_count, can_first, can_count, line_ns, crc32 FROM journal WHERE recording = ? ORDER BY block",
    ],
    fault: `recording ?: the times or counts of its journal's blocks are ${CHANGED}; ${LOST}`,
  },
  marks: {
    ...RECORDINGS,
    rows: ["SELECT at_ns, kind, text FROM mark WHERE recording = ? ORDER BY id"],
    fault: `recording ?: its marks (armed, labels, notes) are ${CHANGED}; ${LOST}`,
  },
  gaps: {
    ...RECORDINGS,
    rows: ["SELECT stream, from_ns, to_ns, cause FROM gap WHERE recording = ? ORDER BY rowid"],
    fault: `recording ?: its list of gaps is ${CHANGED}; ${LOST}`,
  },
  clock: {
    ...RECORDINGS,
    rows: ["SELECT at_ns, utc_ns FROM clock_sample WHERE recording = ? ORDER BY rowid"],
    fault: `recording ?: its wall clock is ${CHANGED}; no run rests on it`,
  },
  calibration: {
    ids: "SELECT id FROM calibration",
    all: "SELECT id FROM calibration",
    rows: ["SELECT recording, fitted FROM calibration WHERE id = ?"],
    fault: `calibration ? is ${CHANGED}; run rederive, which fits it again`,
  },
  figures: {
    ...RUNS,
    rows: ["SELECT recording, final, found, movement_ns, calibration, derived, role_units, print FROM run WHERE id = ?"],
    fault: `run ?: its figures are ${CHANGED}; run rederive, which computes them again from the journal`,
  },
  samples: {
    ...RUNS,
    // Of a book before version 6, which is only read; since then all columns of the run's rows are summed (sample-columns.ts).
    rows: ["SELECT columns FROM sample_copy WHERE run = ?"],
    fault: `run ?: its samples are ${CHANGED}; run rederive, which computes them again from the journal`,
  },
  words: {
    ...RUNS,
    rows: [
      "SELECT uid, label, use, note FROM run WHERE id = ?",
      "SELECT key, value FROM condition WHERE run = ? ORDER BY key",
      "SELECT flag, note FROM overrule WHERE run = ? ORDER BY flag",
    ],
    fault: `run ?: its name, label, note or conditions are ${CHANGED}; look at them and write the label again, which accepts the rest`,
  },
  plan: {
    ids: "SELECT id FROM plan",
    all: "SELECT id FROM plan",
    rows: ["SELECT utc_ns, after_run, drawn FROM plan WHERE id = ?", "SELECT run, slot, again FROM plan_run WHERE plan = ? ORDER BY run"],
    fault: `plan ? is ${CHANGED}; draw a new one`,
  },
  settings: {
    ids: "SELECT 0",
    all: "SELECT 0",
    rows: ["SELECT key, value FROM setting WHERE ? = 0 ORDER BY key"],
    fault: `the book's own gates or its choice of plan are ${CHANGED}; run rederive, which takes them from what was kept of every change`,
  },
  edits: {
    ids: "SELECT DISTINCT coalesce(run, 0) FROM edit",
    all: "SELECT DISTINCT coalesce(run, 0) FROM edit",
    rows: ["SELECT utc_ns, what, before, after FROM edit WHERE coalesce(run, 0) = ? ORDER BY id"],
    fault: `what was kept of earlier changes (run ?) is ${CHANGED}; ${LOST}`,
  },
} as const satisfies Record<string, Group>;

type Sealed = keyof typeof GROUPS;

export interface Seals {
  /** Call it in the transaction that wrote the rows. */
  seal(what: Sealed, ...ids: readonly number[]): void;
  /** The same with a checksum that is known: of what was written, where reading it again would take longer. */
  sealAs(what: Sealed, id: number, crc: number): void;
  /** Also true in a book without seals. */
  isWhole(what: Sealed, id: number): boolean;
  /** Seals everything that has no seal, as it is now: for a book of an earlier version. */
  sealMissing(): void;
  /** One line for each damaged group. */
  faults(): string[];
}

function sumOf(value: unknown, before: number): number {
  if (value instanceof Uint8Array) return crc32(value, crc32(`bytes ${value.length} `, before));
  const text = String(value);
  return crc32(`${value === null ? "null" : typeof value} ${text.length} ${text}`, before);
}

export function createSeals(db: Database): Seals {
  const hasSeals = db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'seal'").get() !== undefined;
  const hasCopies = db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'sample_copy'").get() !== undefined;
  const idsOf = (sql: string) => db.prepare(sql).pluck().all() as number[];
  // A 64-bit integer is summed with all its digits.
  const rowsOf = keptStatements(db, (statement) => statement.raw().safeIntegers());
  const oneOf = keptStatements(db, (statement) => statement.pluck());

  function sumOfGroup(what: Sealed, id: number): number {
    let crc = 0;
    for (const rows of GROUPS[what].rows) {
      for (const row of rowsOf(rows).iterate(id) as IterableIterator<unknown[]>) for (const value of row) crc = sumOf(value, crc);
    }
    return crc;
  }

  /** Null where the rows cannot be read. */
  const sum = (what: Sealed, id: number): number | null =>
    orDamaged(null, () => (what === "samples" && !hasCopies ? sumOfRows(db, id) : sumOfGroup(what, id)));

  const sealed = (what: Sealed, id: number) => oneOf("SELECT crc32 FROM seal WHERE what = ? AND id = ?").get(what, id);

  function sealAs(what: Sealed, id: number, crc: number): void {
    db.prepare("INSERT INTO seal VALUES (?, ?, ?) ON CONFLICT (what, id) DO UPDATE SET crc32 = excluded.crc32").run(what, id, crc);
  }

  function seal(what: Sealed, ...ids: readonly number[]): void {
    for (const id of ids) {
      const crc = sum(what, id);
      if (crc !== null) sealAs(what, id, crc);
    }
  }

  /** Where the seal's own page cannot be read, nothing is known against the rows. */
  function isWhole(what: Sealed, id: number): boolean {
    if (!hasSeals) return true;
    const crc = sum(what, id);
    return crc !== null && orDamaged(true, () => sealed(what, id) === crc);
  }

  const kinds = Object.keys(GROUPS) as Sealed[];

  function groupFaults(what: Sealed): string[] {
    const { ids, all, fault } = GROUPS[what];
    const there = new Set(idsOf(all));
    const gone = (db.prepare("SELECT id FROM seal WHERE what = ?").pluck().all(what) as number[]).filter((id) => !there.has(id));
    const spoiled = idsOf(ids).filter((id) => !isWhole(what, id));
    return [...spoiled, ...gone].map((id) => fault.replace("?", String(id)));
  }

  return {
    seal,
    sealAs,
    isWhole,
    sealMissing() {
      for (const what of kinds) seal(what, ...idsOf(GROUPS[what].ids).filter((id) => sealed(what, id) === undefined));
    },
    faults() {
      if (!hasSeals) return [];
      return kinds.flatMap((what) => {
        try {
          return groupFaults(what);
        } catch (error) {
          if (!isDamage(error)) throw error;
          return [`the table of every ${what} cannot be read to its end; ${LOST}`];
        }
      });
    },
  };
}
