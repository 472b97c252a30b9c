/**
 * Opens the book's file in the one safe way, on every connection. Where this is not possible it throws BookError: a recorder that silently
 * loses safety is worse than none.
 */
import { closeSync, existsSync, openSync, rmSync, type Stats, statSync } from "node:fs";
import { dirname } from "node:path";
import Database from "better-sqlite3";
import { isHeldFile } from "../../disk/held-files.ts";
import { BookError } from "../../ports/book.ts";
import { schemaPeek } from "./schema-peek.ts";
import { APPLICATION_ID, assertReadable, migrate } from "./sqlite-schema.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Before 3.51.3 SQLite could lose committed rows when two connections made a checkpoint at once (sqlite.org/wal.html, "WAL-reset bug"). */
const OLDEST_SAFE = [3, 51, 3] as const;
const BUSY_MS = 5000;
/** PRAGMA synchronous: 2 is FULL. */
const FULL = 2;

function assertSafeSqlite(db: Database.Database): void {
  const version = db.prepare("SELECT sqlite_version()").pluck().get() as string;
  const parts = version.split(".").map(Number);
  for (let i = 0; i < OLDEST_SAFE.length; i += 1) {
    const [found, needed] = [parts[i] ?? 0, OLDEST_SAFE[i]];
    if (found > needed) return;
    if (found < needed)
      throw new BookError("unavailable", `SQLite ${version} can lose committed rows: ${OLDEST_SAFE.join(".")} or newer is needed`);
  }
}

/** Turns SQLite's codes into one line that names the file and the remedy. */
export function bookError(error: unknown, file: string): BookError {
  if (error instanceof BookError) return error;
  const code = String((error as { code?: unknown }).code ?? "");
  const why = wordsOf(error);
  const cause = { cause: error };
  if (code.startsWith("SQLITE_FULL")) return new BookError("full", `Book ${file}: the disk is full; free some space`, cause);
  if (code.startsWith("SQLITE_IOERR"))
    return new BookError("full", `Book ${file}: the drive failed (${code}); check the drive and its free space`, cause);
  if (code.startsWith("SQLITE_BUSY")) return new BookError("busy", `Book ${file}: another program holds it; close that program`, cause);
  if (code.startsWith("SQLITE_READONLY"))
    return new BookError("unavailable", `Book ${file}: the file or its folder may not be written; copy it to a folder of your own`, cause);
  if (code === "SQLITE_NOTADB") return new BookError("unavailable", `Book ${file}: no SQLite file; name another`, cause);
  if (code.startsWith("SQLITE_CORRUPT"))
    return new BookError("damaged", `Book ${file} is damaged (${why}): keep a copy of the file, then \`check\` lists what is lost`, cause);
  if (code.startsWith("SQLITE_CANTOPEN") || why.includes("directory does not exist")) {
    return new BookError(
      "unavailable",
      `Book ${file}: cannot be opened in ${dirname(file)}; check that the folder exists and may be written`,
      cause,
    );
  }
  return new BookError("damaged", `Book ${file}: ${why}`, cause);
}

/** The same for a book that must already exist. */
function openingError(error: unknown, file: string): BookError {
  if ((error as { code?: unknown }).code !== "SQLITE_CANTOPEN") return bookError(error, file);
  // SQLite needs its log and its index beside the file even for reading (sqlite.org/wal.html, "Read-Only Databases").
  if (existsSync(file))
    return new BookError(
      "unavailable",
      `Book ${file}: its folder or drive may not be written, and a book is read with a log beside it; copy it to a folder of your own and open that`,
      { cause: error },
    );
  return new BookError("unavailable", `Book ${file}: not found or not readable; name an existing book`, { cause: error });
}

export interface ConnectionOptions {
  readonly file: string;
  /** False: the file must already exist. */
  readonly create: boolean;
  /** Another thread of this process has the book open and has looked at its pages: looking again would drop its locks (disk/held-files.ts). */
  readonly isOpenInProcess?: boolean;
}

export interface Connection {
  readonly db: Database.Database;
  /** What people must know of it, one line each. */
  readonly notes: readonly string[];
  /** True where the disk is full: nothing can be written. */
  readonly readOnly: boolean;
}

/** As SQLite recommends for files of unknown origin (sqlite.org/security.html); the driver keeps its defensive mode on by itself. */
function distrust(db: Database.Database): void {
  db.pragma("trusted_schema = OFF");
  db.pragma("cell_size_check = ON");
  db.pragma("mmap_size = 0");
}

function assertBook(db: Database.Database, file: string): void {
  const id = db.pragma("application_id", { simple: true }) as number;
  const tables = db.prepare("SELECT count(*) FROM sqlite_schema").pluck().get() as number;
  if (id !== APPLICATION_ID && (id !== 0 || tables > 0))
    throw new BookError("unavailable", `Book ${file}: an SQLite file, but no book of Gripbook; name another`);
}

function prepare(db: Database.Database, file: string): void {
  assertSafeSqlite(db);
  distrust(db);
  assertBook(db, file);
  const mode = db.pragma("journal_mode = WAL", { simple: true }) as string;
  if (mode !== "wal")
    throw new BookError("unavailable", `Book ${file}: no WAL on this drive (got ${mode}); use a local drive, not a network folder`);
  // better-sqlite3 reopens WAL files at NORMAL, which loses the last commits in a power cut.
  db.pragma("synchronous = FULL");
  db.pragma("fullfsync = ON");
  db.pragma("checkpoint_fullfsync = ON");
  db.pragma("foreign_keys = ON");
  if (db.pragma("synchronous", { simple: true }) !== FULL)
    throw new BookError("unavailable", `Book ${file}: synchronous=FULL was not taken`);
  if (db.pragma("foreign_keys", { simple: true }) !== 1) throw new BookError("unavailable", `Book ${file}: foreign_keys=ON was not taken`);
  migrate(db, file);
}

/** Hard links: each name would get its own write-ahead log, and the book would be damaged (sqlite.org/howtocorrupt.html, 2.5). */
function refuseManyNames(file: string, names: number): void {
  if (names > 1)
    throw new BookError(
      "unavailable",
      `Book ${file}: this file has ${names} names (hard links), which would spoil it; copy it with cp and name the copy`,
    );
}

/** Only its owner can read a new book; SQLite gives its log and its index the same rights. */
function makePrivate(file: string): void {
  try {
    closeSync(openSync(file, "wx", 0o600));
  } catch {
    // What prevents it from being made, SQLite's own opening reports with the remedy.
  }
}

function kindOf(stat: Stats): string {
  if (stat.isFIFO()) return "a pipe";
  if (stat.isSocket()) return "a socket";
  return "a device";
}

/** Checks that must be made before SQLite opens the file. */
function lookAt({ file, create, isOpenInProcess = false }: ConnectionOptions, stat: Stats | undefined): string[] {
  if (stat === undefined) {
    if (create) makePrivate(file);
    return [];
  }
  if (stat.isDirectory()) throw new BookError("unavailable", `Book ${file} is a folder: name the book in it`);
  if (!stat.isFile()) throw new BookError("unavailable", `Book ${file} is ${kindOf(stat)}, no file: name a book`);
  refuseManyNames(file, stat.nlink);
  const made = isOpenInProcess || isHeldFile(file) ? null : schemaPeek(file);
  if (made !== null)
    throw new BookError("unavailable", `Book ${file} was changed by another program, or is made up: ${made}; use a copy from before`);
  if (stat.size > 0) return [];
  if (!create)
    throw new BookError(
      "unavailable",
      `Book ${file}: the file is empty (0 bytes): nothing was ever written, or a copy failed; name another`,
    );
  return [`Book ${file} was an empty file (0 bytes): a new book begins in it. If runs were in it once, stop and use a copy from before.`];
}

/**
 * A full disk has no room for the index that readers share. With exclusive access SQLite keeps it in memory (sqlite.org/wal.html, "Use of
 * WAL Without Shared-Memory").
 */
function openForReading(file: string): Database.Database {
  const db = new Database(file, { fileMustExist: true, timeout: BUSY_MS });
  try {
    db.pragma("locking_mode = EXCLUSIVE");
    db.pragma("query_only = ON");
    distrust(db);
    assertBook(db, file);
    assertReadable(db, file);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** No room for a write, or for the shared index. */
const isFull = (error: unknown) => /^SQLITE_(FULL|IOERR_SHM|IOERR_WRITE)/.test(String((error as { code?: unknown }).code));

export function openConnection(options: ConnectionOptions): Connection {
  const { file, create } = options;
  const before = statSync(file, { throwIfNoEntry: false });
  let db: Database.Database | null = null;
  try {
    const notes = lookAt(options, before);
    try {
      db = new Database(file, { fileMustExist: !create, timeout: BUSY_MS });
      prepare(db, file);
      return { db, notes, readOnly: false };
    } catch (error) {
      db?.close();
      if (before === undefined) rmSync(file, { force: true });
      else if (isFull(error)) return { db: openForReading(file), notes: [...notes, fullNote(file)], readOnly: true };
      throw error;
    }
  } catch (error) {
    if (String((error as { code?: unknown }).code).startsWith("SQLITE_CORRUPT")) throw unopenable(file, error);
    throw create ? bookError(error, file) : openingError(error, file);
  }
}

const unopenable = (file: string, cause: unknown) =>
  new BookError(
    "damaged",
    `Book ${file} is damaged so that it cannot be opened (${(cause as Error).message}), as when a part of the file is missing: use a copy from before`,
    { cause },
  );

export const fullNote = (file: string) =>
  `Book ${file}: the disk is full, so it is open for reading only; free some space, then open it again`;
