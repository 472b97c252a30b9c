/**
 * The book: one SQLite file behind the Book interface. Every error becomes a BookError of one line; a failed opening leaves nothing open.
 */
import { realpathSync, rmSync, statSync } from "node:fs";
import { parse } from "node:path";
import type { Database } from "better-sqlite3";
import { type Book, BookError } from "../../ports/book.ts";
import { holdFile } from "../../disk/held-files.ts";
import { beginFile } from "../../disk/new-file.ts";
import { createRoom, type Room } from "../../disk/room.ts";
import { type BookOwner, createBookOwner } from "./book-owner.ts";
import { schemaFaults } from "./expected-schema.ts";
import { makeFileNear } from "./file-beside.ts";
import { createCalibrationsPart } from "./sqlite-calibrations.ts";
import { bookError, type ConnectionOptions, fullNote, openConnection } from "./sqlite-connection.ts";
import { createJournalPart, type Writing } from "./sqlite-journal.ts";
import { lostPages } from "./lost-pages.ts";
import { createPlansPart } from "./sqlite-plans.ts";
import { hashFaults } from "./sqlite-hashes.ts";
import { createRunsPart } from "./sqlite-runs.ts";
import { createSampleBuffer } from "./sample-buffer.ts";
import { createSeals } from "./sqlite-seals.ts";
import { createKeepEdit, createSettingsPart } from "./sqlite-settings.ts";

/** A programming error must not look like an error of the book. */
const isSqlite = (error: unknown) => error instanceof Error && String((error as { code?: unknown }).code).startsWith("SQLITE_");

/** SQLite's own messages, which name pages and rows. */
function fileFaults(db: Database): string[] {
  return (db.pragma("integrity_check") as { integrity_check: string }[])
    .map((row) => row.integrity_check)
    .filter((line) => line !== "ok")
    .map(
      (line) => `the file itself is damaged (SQLite: ${line.replaceAll(/\s+/g, " ")}); copy it with \`copy\` and run rederive on the copy`,
    );
}

function keyFaults(db: Database): string[] {
  const keys = db.pragma("foreign_key_check") as { table: string; rowid: number; parent: string }[];
  return keys.map(({ table, rowid, parent }) => `${table} row ${rowid}: its ${parent} is missing; use a copy of the book from before`);
}

/** Each check goes as far as it can; where SQLite cannot read further, this becomes a line too. */
function orDamage(look: () => string[]): string[] {
  try {
    return look();
  } catch (error) {
    if (!(isSqlite(error) && String((error as { code?: unknown }).code).startsWith("SQLITE_CORRUPT"))) throw error;
    return [
      `the file itself is damaged, and a part of it cannot be read (SQLite: ${(error as Error).message}); use a copy of the book from before`,
    ];
  }
}

const oddWords = (odd: string) => `${odd}: another program was here; it does no harm, and SQL can put it right`;

function partsOf(db: Database, file: string, writing: Writing) {
  const seals = createSeals(db);
  const keepEdit = createKeepEdit(db, seals);
  return {
    ...createJournalPart(db, file, seals, keepEdit, writing),
    ...createCalibrationsPart(db, file, seals),
    ...createRunsPart(db, file, seals, keepEdit),
    ...createPlansPart(db, file, seals, keepEdit),
    ...createSettingsPart(db, file, seals, keepEdit),
    integrityFaults() {
      const inFile = orDamage(() => fileFaults(db));
      // The search for missing keys reads whole tables in one step, which may have no end where pages name each other.
      const parts = [
        ...(inFile.length > 0 ? [] : [() => keyFaults(db)]),
        () => schemaFaults(db).odd.map(oddWords),
        () => hashFaults(db),
        seals.faults,
      ];
      return [...inFile, ...parts.flatMap(orDamage)];
    },
    lostPages: () => lostPages(db, file),
    transaction: <T>(work: () => T): T => db.transaction(work).immediate(),
  };
}

/** The book's present file: a book whose file was moved or deleted continues in another. */
interface Place {
  readonly db: Database;
  close(): void;
  readonly file: string;
  readonly readOnly: boolean;
  readonly notes: readonly string[];
  readonly identity: string | null;
  readonly owner: BookOwner;
  readonly room: Room;
  readonly parts: ReturnType<typeof partsOf>;
}

function identityOf(file: string): string | null {
  const stat = statSync(file, { bigint: true, throwIfNoEntry: false });
  return stat === undefined ? null : `${stat.dev}-${stat.ino}`;
}

function openPlace(options: ConnectionOptions, writing: Writing): Place {
  const { file } = options;
  const { db, notes, readOnly } = openConnection(options);
  const letGo = holdFile(file);
  const room = createRoom(`${realpathSync(file)}-room`);
  const close = () => {
    db.close();
    letGo();
  };
  return {
    db,
    close,
    file,
    notes,
    readOnly,
    identity: identityOf(file),
    owner: createBookOwner(file),
    room,
    parts: partsOf(db, file, writing),
  };
}

/** Turns SQLite's own errors into BookErrors. */
function guarded<T>(place: Place, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!isSqlite(error)) throw error;
    if (place.readOnly && String((error as { code?: unknown }).code) === "SQLITE_READONLY") throw readOnlyError(place, error);
    throw bookError(error, place.file);
  }
}

const readOnlyError = ({ file }: Place, cause?: unknown) => new BookError("full", fullNote(file), { cause });

/** Every part's functions, each called on the book's present file. */
function delegated<T extends object>(names: readonly string[], here: () => Place): T {
  const call = (name: string) => {
    return (...given: unknown[]) => {
      const place = here();
      return guarded(place, () => (place.parts[name as keyof Place["parts"]] as (...given: unknown[]) => unknown)(...given));
    };
  };
  return Object.fromEntries(names.map((name) => [name, call(name)])) as T;
}

function goesOnAs(file: string): string {
  const { name, ext } = parse(file);
  return makeFileNear(file, (count) => `${name}-goes-on${count === 1 ? "" : `-${count}`}${ext}`);
}

export function openSqliteBook(options: ConnectionOptions): Book {
  const writing: Writing = { tails: new Map(), asides: new Map() };
  const buffer = createSampleBuffer();
  let place = openPlace(options, writing);

  function moveTo(file: string): void {
    const before = place;
    const next = openPlace({ file, create: false }, writing);
    next.owner.own();
    place = next;
    before.room.give("rest");
    before.owner.release();
  }

  return {
    ...delegated<Place["parts"]>(Object.keys(place.parts), () => place),
    get file() {
      return place.file;
    },
    get notes() {
      return place.notes;
    },
    own() {
      if (place.readOnly) throw readOnlyError(place);
      return guarded(place, () => place.owner.own());
    },
    whereabouts() {
      if (identityOf(place.file) !== place.identity) return "gone";
      return statSync(place.file).nlink > 1 ? "twoNames" : "there";
    },
    async goOnBeside() {
      const before = place;
      const file = goesOnAs(before.file);
      try {
        // In steps; what this connection writes meanwhile goes to both files (sqlite.org/c3ref/backup_finish.html).
        await before.db.backup(file);
        if (place === before) moveTo(file);
        else rmSync(file, { force: true });
        // Closing removes the write-ahead log by name. Where another file now has the book's name, that log may belong to it.
        if (identityOf(before.file) === null) before.close();
      } catch (error) {
        rmSync(file, { force: true });
        throw isSqlite(error) ? bookError(error, file) : error;
      }
    },
    goOnBesideNow() {
      const file = goesOnAs(place.file);
      guarded(place, () => place.db.prepare("VACUUM INTO ?").run(file));
      moveTo(file);
    },
    async backUp(day) {
      const { db, file: from } = place;
      const { name, ext } = parse(from);
      const file = makeFileNear(from, (count) => `${name}-copy-${day}${count === 1 ? "" : `-${count}`}${ext}`);
      try {
        // In steps; what this connection writes meanwhile goes to the copy as well (sqlite.org/c3ref/backup_finish.html).
        await db.backup(file);
        return file;
      } catch (cause) {
        rmSync(file, { force: true });
        throw isSqlite(cause) ? bookError(cause, file) : cause;
      }
    },
    copyTo(target: string) {
      const copy = beginFile({ file: target, over: "nothing", mode: 0o600 });
      try {
        // VACUUM INTO accepts an empty file (sqlite.org/lang_vacuum.html).
        place.db.prepare("VACUUM INTO ?").run(copy.beside);
        copy.keep();
      } catch (error) {
        throw isSqlite(error) ? bookError(error, target) : error;
      } finally {
        copy.drop();
      }
    },
    keepRoom: () => place.room.grow(),
    giveRoom: (part) => place.room.give(part),
    bufferSamples: buffer.bufferSamples,
    close() {
      buffer.close();
      place.room.give("rest");
      place.owner.release();
      guarded(place, place.close);
    },
  };
}
