/**
 * Decides which process may record into a book: the one that holds two exclusive locks. One lock is beside the file; the other is in this
 * machine's temporary folder and named by device and inode, so that links, mounts and moves do not get around it. The system releases both
 * when the process dies, in any way. A recording found open without an owner was therefore interrupted. A lock file that is damaged or
 * cannot be made throws BookError that names it.
 */
import { closeSync, lstatSync, mkdirSync, openSync, realpathSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { holdFile } from "../../disk/held-files.ts";
import { BookError } from "../../ports/book.ts";

export interface BookOwner {
  /** True when this process owns the book, from now or from before. */
  own(): boolean;
  release(): void;
}

type Release = () => void;

/** Another process may release a lock and remove its file between our opening and our locking it: then we try again. */
const MOST_TRIES = 5;

const inodeOf = (file: string) => statSync(file, { bigint: true, throwIfNoEntry: false })?.ino ?? null;
const codeOf = (error: unknown) => String((error as { code?: unknown }).code);

/** Never opens an existing file: closing it would release this process's own locks on it (sqlite.org/howtocorrupt.html, 2.2). */
function makeEmpty(file: string): void {
  try {
    closeSync(openSync(file, "wx", 0o600));
  } catch (error) {
    if (codeOf(error) !== "EEXIST") throw error;
  }
}

const spoiled = (file: string, cause: unknown) =>
  new BookError("unavailable", `Lock file ${file} is damaged, the book is not: delete that file while no Gripbook is running`, { cause });

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
  const letGo = holdFile(file);
  return () => {
    try {
      // Removed while the lock is still held: a process that has already opened this file then finds it gone and tries again.
      rmSync(file, { force: true });
    } catch (error) {
      // Windows does not remove an open file; an empty one does no harm.
      if (!["EBUSY", "EPERM", "EACCES"].includes(codeOf(error))) throw error;
    } finally {
      db.close();
      letGo();
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

/** This person's own folder in the system's temporary folder; one that somebody else has made there is not used. */
function lockFolder(): string {
  const me = process.getuid?.();
  const folder = join(tmpdir(), `gripbook-owners${me === undefined ? "" : `-${me}`}`);
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const stat = lstatSync(folder);
  if (!stat.isDirectory() || (me !== undefined && stat.uid !== me)) throw new RangeError(`${folder} is somebody else's`);
  return folder;
}

/** Null where another process holds it. Where this machine has no place for it, only the lock beside the book is used. */
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
