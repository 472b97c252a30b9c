/**
 * Who may record into a book: the process that holds two exclusive locks, one beside the file itself and one of this machine that goes by device and
 * inode, so that no link, mount or move is a way round. The system drops both when the process dies, however it dies, so a recording found open
 * without an owner was interrupted. A lock file that is spoiled or cannot be made throws BookError naming it.
 */
import { closeSync, lstatSync, mkdirSync, openSync, realpathSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { BookError } from "../../ports/book.ts";

export interface BookOwner {
  /** True when this process owns the book, now or already. */
  own(): boolean;
  release(): void;
}

type Release = () => void;

/** Another process may let go of a lock and take its file away between our opening it and our locking it: then it is tried anew. */
const MOST_TRIES = 5;

const inodeOf = (file: string) => statSync(file, { bigint: true, throwIfNoEntry: false })?.ino ?? null;
const codeOf = (error: unknown) => String((error as { code?: unknown }).code);

/** Never opens a file that is there: closing it would drop this process's own locks on it (sqlite.org/howtocorrupt.html, 2.2). */
function makeEmpty(file: string): void {
  try {
    closeSync(openSync(file, "wx", 0o600));
  } catch (error) {
    if (codeOf(error) !== "EEXIST") throw error;
  }
}

const spoiled = (file: string, cause: unknown) =>
  new BookError("unavailable", `Lock file ${file} is spoiled, the book is not: delete that file while no Gripbook is running`, { cause });

function tryLock(file: string): Release | "held" | "again" {
  makeEmpty(file);
  const opened = inodeOf(file);
  const db = new Database(file, { timeout: 0 });
  try {
    db.exec("BEGIN EXCLUSIVE");
  } catch (cause) {
    db.close();
    if (codeOf(cause).startsWith("SQLITE_BUSY")) return "held";
    if (codeOf(cause) === "SQLITE_NOTADB" || codeOf(cause).startsWith("SQLITE_CORRUPT")) throw spoiled(file, cause);
    throw cause;
  }
  if (opened === null || inodeOf(file) !== opened) {
    db.close();
    return "again";
  }
  return () => {
    try {
      // While the lock is still held: whoever has opened this file by then finds that it is gone, and tries anew.
      rmSync(file, { force: true });
    } catch (error) {
      // Windows takes no open file away; an empty one does no harm.
      if (!["EBUSY", "EPERM", "EACCES"].includes(codeOf(error))) throw error;
    } finally {
      db.close();
    }
  };
}

/** Null where another process holds it. */
function lock(file: string): Release | null {
  for (let tries = 0; tries < MOST_TRIES; tries += 1) {
    const got = tryLock(file);
    if (got !== "again") return got === "held" ? null : got;
  }
  return null;
}

/** This person's own folder among the system's temporary files; one that somebody else has put there is none. */
function lockFolder(): string {
  const me = process.getuid?.();
  const folder = join(tmpdir(), `gripbook-owners${me === undefined ? "" : `-${me}`}`);
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const stat = lstatSync(folder);
  if (!stat.isDirectory() || (me !== undefined && stat.uid !== me)) throw new RangeError(`${folder} is somebody else's`);
  return folder;
}

/** Null where another process holds it. Where this machine has no room for it, the lock beside the book must do. */
function lockInode(file: string): Release | null {
  const { dev, ino } = statSync(file, { bigint: true });
  try {
    return lock(join(lockFolder(), `${dev}-${ino}`));
  } catch (error) {
    if (error instanceof BookError) throw error;
    return () => undefined;
  }
}

export function createBookOwner(bookFile: string): BookOwner {
  let held: readonly Release[] = [];
  return {
    own() {
      if (held.length > 0) return true;
      const byInode = lockInode(bookFile);
      if (byInode === null) return false;
      let beside: Release | null = null;
      try {
        beside = lock(`${realpathSync(bookFile)}-owner`);
      } finally {
        if (beside === null) byInode();
      }
      if (beside === null) return false;
      held = [beside, byInode];
      return true;
    },
    release() {
      for (const release of held) release();
      held = [];
    },
  };
}
