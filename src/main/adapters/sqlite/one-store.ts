/**
 * What a book of version 5 needs beside the statements of version 6, which keeps a run's samples as rows alone: its seals over the copy of them become seals
 * over the rows. One that the copy no longer fits stays as it is: the rows do not fit it either, so that what was damaged before is still found.
 */
import type { Database } from "better-sqlite3";
import { BookError, type RunSamplesView } from "../../ports/book.ts";
import { createBookOwner } from "./book-owner.ts";
import { editSchema } from "./edit-schema.ts";
import { orDamaged } from "./run-ids.ts";
import { namesOf, unpackSamples } from "./sample-block.ts";
import { sumOfSamples } from "./sample-columns.ts";
import { createSeals } from "./sqlite-seals.ts";

/** The version from which on a book has rows alone. */
export const ONE_STORE = 6;

interface RowSeal {
  readonly run: number;
  readonly crc32: number;
}

function unitsOf(text: string): RunSamplesView["roleUnits"] | null {
  try {
    return JSON.parse(text) as RunSamplesView["roleUnits"];
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

/** The new seals, from copies that their own seal vouches for. To be read before anything is written: a damaged page would end the transaction. */
export function rowSeals(db: Database): RowSeal[] {
  const seals = createSeals(db);
  const read = db.prepare("SELECT role_units, columns FROM run JOIN sample_copy ON run = id WHERE id = ?").raw();
  const runs = orDamaged([], () => db.prepare("SELECT run FROM sample_copy").pluck().all() as number[]);
  return runs.flatMap((run) => {
    const found = seals.isWhole("samples", run) ? orDamaged(undefined, () => read.get(run) as [string, Uint8Array] | undefined) : undefined;
    const roleUnits = unitsOf(found?.[0] ?? "");
    const columns = found === undefined || roleUnits === null ? null : unpackSamples(found[1], roleUnits);
    if (roleUnits === null || columns === null) return [];
    const byName = namesOf(roleUnits).map((name, i): [string, Float64Array] => [name, columns[i] as Float64Array]);
    return [{ run, crc32: sumOfSamples(new Map(byName)) }];
  });
}

export function storeRowSeals(db: Database, seals: readonly RowSeal[]): void {
  const update = db.prepare("UPDATE seal SET crc32 = ? WHERE what = 'samples' AND id = ?");
  for (const { run, crc32 } of seals) update.run(crc32, run);
}

/** Where a page of the copies is damaged, which `DROP TABLE` has to read: their pages stay in the file, and `check` and `copy` speak of them. */
export function forgetCopies(db: Database): void {
  editSchema(db, () => {
    db.exec("DELETE FROM sqlite_schema WHERE name IN ('sample_copy', 'sample_updated', 'sample_deleted')");
    db.pragma(`user_version = ${ONE_STORE}`);
  });
}

/** A Gripbook of the time before, which records into the book now, would store a copy that the book no longer has. */
export function whileNobodyRecords(file: string, work: () => void): void {
  const owner = createBookOwner(file);
  let isOwner = true;
  try {
    isOwner = owner.own();
  } catch (error) {
    // Where no lock can be made (a full disk, a folder that may not be written) the book cannot be written either, which SQLite says.
    if (error instanceof BookError) throw error;
  }
  if (!isOwner)
    throw new BookError(
      "busy",
      `Book ${file}: an earlier Gripbook records into it, and this one would change the book; close that one first`,
    );
  try {
    work();
  } finally {
    owner.release();
  }
}
