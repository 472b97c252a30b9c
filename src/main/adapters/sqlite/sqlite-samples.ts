/**
 * A run's samples in the book: a row for each, which plain SQL reads too, and nothing else. What no run has, and a page that cannot be read,
 * throws BookError with the remedy.
 */
import type { Database } from "better-sqlite3";
import { BookError, type RunSamplesView, type RunWrite } from "../../ports/book.ts";
import { isDamage } from "./run-ids.ts";
import { columnOf, namesOf, viewOf } from "./sample-block.ts";
import { FIXED_COLUMNS, quoted, readColumns, sumOfSamples } from "./sample-columns.ts";
import { ROLE_COLUMNS } from "./sqlite-schema.ts";

type RoleUnits = RunSamplesView["roleUnits"];

interface StoredSamples {
  /** Replaces any samples that were there; gives the checksum of the rows that it wrote. */
  write(run: number, write: Pick<RunWrite, "samples">): number;
  read(run: number, roleUnits: RoleUnits): RunSamplesView;
  /** A role that is not among `roleUnits` is left out. */
  readSome<Name extends string>(run: number, roleUnits: RoleUnits, names: readonly Name[]): Partial<Record<Name, Float64Array>>;
}

const ALL_COLUMNS: readonly string[] = [...FIXED_COLUMNS, ...ROLE_COLUMNS];

export function createStoredSamples(db: Database, file: string): StoredSamples {
  const damaged = (words: string, cause?: unknown) => new BookError("damaged", `Book ${file}: ${words}; run rederive`, { cause });

  function columnsOf(run: number, names: readonly string[]): Float64Array[] {
    const strange = names.find((name) => !ALL_COLUMNS.includes(name));
    if (strange !== undefined) throw damaged(`run ${run} names a sample column that no book has, ${JSON.stringify(strange)}`);
    try {
      const columns = readColumns(db, run, names);
      if (columns === null) throw damaged(`run ${run} has more rows of samples than any run`);
      return columns;
    } catch (error) {
      if (isDamage(error)) throw damaged(`a page with samples of run ${run} cannot be read`, error);
      throw error;
    }
  }

  return {
    write(run, { samples }) {
      const strange = Object.keys(samples.roles).find((role) => !ALL_COLUMNS.includes(role));
      if (strange !== undefined)
        throw new BookError("unavailable", `Book ${file}: no column for ${strange}: at most four sensors a list are kept`);
      db.prepare("DELETE FROM sample WHERE run = ?").run(run);
      const columns = new Map(
        [...FIXED_COLUMNS, ...Object.keys(samples.roles)].map((name) => [name, columnOf(samples, name) as Float64Array]),
      );
      const names = [...columns.keys()];
      const insertRow = db.prepare(
        `INSERT INTO sample (run, row, ${names.map(quoted).join(", ")}) VALUES (?, ?${", ?".repeat(names.length)})`,
      );
      const all = [...columns.values()];
      for (let row = 0; row < samples.tS.length; row += 1) {
        // NaN is bound as NULL: unknown stays unknown for plain SQL too.
        insertRow.run(run, row, ...all.map((column) => column[row]));
      }
      return sumOfSamples(columns);
    },
    read: (run, roleUnits) => viewOf(columnsOf(run, namesOf(roleUnits)), roleUnits),
    readSome(run, roleUnits, names) {
      const has = new Set(namesOf(roleUnits));
      const there = names.filter((name) => has.has(name));
      const columns = columnsOf(run, there);
      return Object.fromEntries(there.map((name, i) => [name, columns[i]])) as ReturnType<StoredSamples["readSome"]>;
    },
  };
}
