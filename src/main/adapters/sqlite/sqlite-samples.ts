/**
 * A run's samples in the book: rows for plain SQL, and the same values once more as one block, column after column, for a quick opening.
 * The rows are what counts: the schema drops the block when they change. A block of another length throws BookError with the way out.
 */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import type { Database } from "better-sqlite3";
import type { RunSamples } from "../../../shared/run/run.ts";
import { BookError, type RunSamplesView, type RunWrite } from "../../ports/book.ts";
import { FIXED_COLUMNS, ROLE_COLUMNS } from "./sqlite-schema.ts";

type RoleUnits = RunSamplesView["roleUnits"];

interface StoredSamples {
  /** Puts them in the place of any that stood there. */
  write(run: number, write: Pick<RunWrite, "samples" | "roleUnits">): void;
  /** From the block where there is one: books of before version 4 and rows changed by hand have none. */
  read(run: number, roleUnits: RoleUnits): RunSamplesView;
  readRows(run: number, roleUnits: RoleUnits): RunSamplesView;
}

const ALL_COLUMNS: readonly string[] = [...FIXED_COLUMNS, ...ROLE_COLUMNS];
const NUMBER_BYTES = Float64Array.BYTES_PER_ELEMENT;

/** A name as SQL takes it, whatever is in it (sqlite.org/lang_keywords.html): the one place where text becomes part of a statement. */
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

/** Little-endian doubles, as every machine that Gripbook runs on holds them (Node has no big-endian desktop build). */
function pack(samples: RunSamples, names: readonly string[]): Uint8Array {
  const rows = samples.tS.length;
  const block = new Float64Array(names.length * rows).fill(Number.NaN);
  for (const [i, name] of names.entries()) block.set(columnOf(samples, name) ?? [], i * rows);
  return new Uint8Array(block.buffer);
}

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
      .prepare(`SELECT ${names.map(quoted).join(", ")} FROM sample WHERE run = ? ORDER BY row`)
      .raw()
      .all(run) as (number | null)[][];
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
        pack(samples, namesOf(roleUnits)),
      );
    },
    read(run, roleUnits) {
      const block = db.prepare("SELECT columns FROM sample_copy WHERE run = ?").pluck().get(run) as Uint8Array | undefined;
      if (block === undefined) return readRows(run, roleUnits);
      const names = namesOf(roleUnits);
      const rowBytes = names.length * NUMBER_BYTES;
      if (block.byteLength % rowBytes !== 0)
        throw new BookError(
          "damaged",
          `Book ${file}: the samples of run ${run} are ${block.byteLength} bytes, expected a multiple of ${rowBytes}; run rederive`,
        );
      const values = new Float64Array(block.byteLength / NUMBER_BYTES);
      new Uint8Array(values.buffer).set(block);
      const rows = values.length / names.length;
      return viewOf(
        names.map((_, i) => values.subarray(i * rows, (i + 1) * rows)),
        roleUnits,
      );
    },
    readRows,
  };
}
