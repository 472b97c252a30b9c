/**
 * A run's samples in the book: rows for plain SQL, and the same values again as one block, column after column, for quick reading. The rows
 * are what counts: the schema drops the block when they change. A block of the wrong length throws BookError with the remedy.
 */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import type { Database } from "better-sqlite3";
import type { RunSamples } from "../../../shared/run/run.ts";
import { BookError, type RunSamplesView, type RunWrite } from "../../ports/book.ts";
import { FIXED_COLUMNS, ROLE_COLUMNS } from "./sqlite-schema.ts";
import { orDamaged } from "./run-ids.ts";

type RoleUnits = RunSamplesView["roleUnits"];

interface StoredSamples {
  /** Replaces any samples that were there. */
  write(run: number, write: Pick<RunWrite, "samples" | "roleUnits">): void;
  /** From the block where there is one; books before version 4 and rows changed by hand have none. */
  read(run: number, roleUnits: RoleUnits): RunSamplesView;
  readRows(run: number, roleUnits: RoleUnits): RunSamplesView;
}

const ALL_COLUMNS: readonly string[] = [...FIXED_COLUMNS, ...ROLE_COLUMNS];
const NUMBER_BYTES = Float64Array.BYTES_PER_ELEMENT;

/** A name quoted for SQL, whatever it contains (sqlite.org/lang_keywords.html): the only place where text becomes part of a statement. */
const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

/** The order of the block's columns. */
const namesOf = (roleUnits: RoleUnits): readonly string[] => [...FIXED_COLUMNS, ...Object.keys(roleUnits)];

const columnOf = (samples: RunSamples, name: string): Float64Array | null =>
  ofWord(samples as unknown as Record<string, Float64Array>, name) ?? ofWord(samples.roles, name) ?? null;

function viewOf(columns: readonly Float64Array[], roleUnits: RoleUnits): RunSamplesView {
  const fixed = Object.fromEntries(FIXED_COLUMNS.map((name, i) => [name, columns[i]]));
  const roles = Object.fromEntries(Object.keys(roleUnits).map((role, i) => [role, columns[FIXED_COLUMNS.length + i]]));
  return { samples: { ...fixed, roles } as unknown as RunSamples, roleUnits };
}

/** Little-endian doubles: the byte order of every machine that Gripbook runs on (Node has no big-endian desktop build). */
export function packSamples({ samples, roleUnits }: RunSamplesView): Uint8Array {
  const names = namesOf(roleUnits);
  const rows = samples.tS.length;
  const block = new Float64Array(names.length * rows).fill(Number.NaN);
  for (const [i, name] of names.entries()) block.set(columnOf(samples, name) ?? [], i * rows);
  return new Uint8Array(block.buffer);
}

/** Null where the block's length is none that these columns have. */
export function unpackSamples(block: Uint8Array, roleUnits: RoleUnits): RunSamplesView | null {
  const names = namesOf(roleUnits);
  if (block.byteLength % (names.length * NUMBER_BYTES) !== 0) return null;
  const values = new Float64Array(block.byteLength / NUMBER_BYTES);
  new Uint8Array(values.buffer).set(block);
  const rows = values.length / names.length;
  return viewOf(
    names.map((_, i) => values.subarray(i * rows, (i + 1) * rows)),
    roleUnits,
  );
}

/** Over an hour, a row each 10 ms. */
const MOST_ROWS = 500_000;

export function createStoredSamples(db: Database, file: string): StoredSamples {
  const insertRow = db.prepare(
    `INSERT INTO sample (run, row, ${ALL_COLUMNS.map(quoted).join(", ")}) VALUES (?, ?${", ?".repeat(ALL_COLUMNS.length)})`,
  );

  function readRows(run: number, roleUnits: RoleUnits): RunSamplesView {
    const names = namesOf(roleUnits);
    const strange = names.find((name) => !ALL_COLUMNS.includes(name));
    if (strange !== undefined)
      throw new BookError(
        "damaged",
        `Book ${file}: run ${run} names a sample column that no book has, ${JSON.stringify(strange)}; run rederive`,
      );
    const rows = db
      .prepare(`SELECT ${names.map(quoted).join(", ")} FROM sample WHERE run = ? ORDER BY row LIMIT ${MOST_ROWS + 1}`)
      .raw()
      .all(run) as (number | null)[][];
    if (rows.length > MOST_ROWS)
      throw new BookError("damaged", `Book ${file}: run ${run} has more rows of samples than any run; run rederive`);
    const columns = names.map((_, i) => Float64Array.from(rows, (row) => row[i] ?? Number.NaN));
    return viewOf(columns, roleUnits);
  }

  return {
    write(run, { samples, roleUnits }) {
      const strange = Object.keys(samples.roles).find((role) => !ALL_COLUMNS.includes(role));
      if (strange !== undefined)
        throw new BookError("unavailable", `Book ${file}: no column for ${strange}: at most four sensors a list are kept`);
      db.prepare("DELETE FROM sample WHERE run = ?").run(run);
      const columns = ALL_COLUMNS.map((name) => columnOf(samples, name));
      for (let row = 0; row < samples.tS.length; row += 1) {
        // NaN is bound as NULL: unknown stays unknown for plain SQL too.
        insertRow.run(run, row, ...columns.map((column) => (column === null ? null : column[row])));
      }
      db.prepare("INSERT INTO sample_copy VALUES (?, ?) ON CONFLICT (run) DO UPDATE SET columns = excluded.columns").run(
        run,
        packSamples({ samples, roleUnits }),
      );
    },
    read(run, roleUnits) {
      // The rows are the same samples: a copy whose page cannot be read is not needed.
      const block = orDamaged(
        undefined,
        () => db.prepare("SELECT columns FROM sample_copy WHERE run = ?").pluck().get(run) as Uint8Array | undefined,
      );
      if (block === undefined) return readRows(run, roleUnits);
      const view = unpackSamples(block, roleUnits);
      if (view !== null) return view;
      throw new BookError(
        "damaged",
        `Book ${file}: the samples of run ${run} are ${block.byteLength} bytes, expected a multiple of ${namesOf(roleUnits).length * NUMBER_BYTES}; run rederive`,
      );
    },
    readRows,
  };
}
