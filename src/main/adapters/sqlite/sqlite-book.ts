/** The book: one SQLite file behind the Book port. Every error becomes a BookError of one line; opening leaves nothing half open. */
import type { Database } from "better-sqlite3";
import type { Book } from "../../ports/book.ts";
import { beginFile } from "../../disk/new-file.ts";
import { createBookOwner } from "./book-owner.ts";
import { createCalibrationsPart } from "./sqlite-calibrations.ts";
import { bookError, type ConnectionOptions, openConnection } from "./sqlite-connection.ts";
import { createJournalPart } from "./sqlite-journal.ts";
import { createPlansPart } from "./sqlite-plans.ts";
import { hashFaults } from "./sqlite-hashes.ts";
import { createRunsPart } from "./sqlite-runs.ts";
import { createSeals } from "./sqlite-seals.ts";
import { createKeepEdit, createSettingsPart } from "./sqlite-settings.ts";

/** A mistake of ours is not the book's to rename. */
const isSqlite = (error: unknown) => error instanceof Error && String((error as { code?: unknown }).code).startsWith("SQLITE_");

/** Wraps every function of `part` so that SQLite's own errors never get out. */
function withBookErrors<T extends object>(part: T, file: string): T {
  const wrapped = Object.entries(part).map(([name, call]) => {
    const guarded = (...given: unknown[]) => {
      try {
        return (call as (...given: unknown[]) => unknown)(...given);
      } catch (error) {
        throw isSqlite(error) ? bookError(error, file) : error;
      }
    };
    return [name, guarded] as const;
  });
  return Object.fromEntries(wrapped) as T;
}

/** SQLite's own words, which name pages and rows. */
function fileFaults(db: Database): string[] {
  const lines = (db.pragma("integrity_check") as { integrity_check: string }[])
    .map((row) => row.integrity_check)
    .filter((line) => line !== "ok")
    .map((line) => `the file itself is damaged (SQLite: ${line}); copy it with \`copy\` and run rederive on the copy`);
  const keys = db.pragma("foreign_key_check") as { table: string; rowid: number; parent: string }[];
  return [...lines, ...keys.map((key) => `${key.table} row ${key.rowid}: its ${key.parent} is missing`)];
}

function partsOf(db: Database, file: string) {
  const seals = createSeals(db);
  const keepEdit = createKeepEdit(db, seals);
  return {
    ...createJournalPart(db, file, seals, keepEdit),
    ...createCalibrationsPart(db, file, seals),
    ...createRunsPart(db, file, seals, keepEdit),
    ...createPlansPart(db, file, seals, keepEdit),
    ...createSettingsPart(db, file, seals, keepEdit),
    integrityFaults: () => [...fileFaults(db), ...hashFaults(db), ...seals.faults()],
  };
}

export function openSqliteBook(options: ConnectionOptions): Book {
  const { file } = options;
  const db = openConnection(options);
  const owner = createBookOwner(file);
  const rest = {
    own: () => owner.own(),
    copyTo(target: string) {
      const copy = beginFile({ file: target, over: "nothing" });
      try {
        // It takes an empty file (sqlite.org/lang_vacuum.html).
        db.prepare("VACUUM INTO ?").run(copy.beside);
        copy.keep();
      } catch (error) {
        throw isSqlite(error) ? bookError(error, target) : error;
      } finally {
        copy.drop();
      }
    },
    close() {
      owner.release();
      db.close();
    },
  };
  return {
    ...withBookErrors(partsOf(db, file), file),
    ...withBookErrors(rest, file),
    file,
    transaction<T>(work: () => T): T {
      try {
        return db.transaction(work).immediate();
      } catch (error) {
        throw isSqlite(error) ? bookError(error, file) : error;
      }
    },
  };
}
