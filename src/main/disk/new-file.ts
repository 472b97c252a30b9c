/**
 * The one way in which Gripbook writes a file: completely, beside its place, under an unpredictable name, then moved to its place in one
 * step of the file system. A kill leaves the old file or the new one. A refused place throws FileRefused, a failing disk FileError, and
 * neither leaves a partial file.
 */
import { randomBytes } from "node:crypto";
import { closeSync, constants, fsyncSync, linkSync, openSync, renameSync, rmSync, writeSync } from "node:fs";
import { dirname, join } from "node:path";
import { codeOf, FileError, FileRefused } from "./file-error.ts";
import { checkPlace, type Over } from "./place.ts";

export interface NewFile {
  /** Where its bytes are until they are kept. */
  readonly beside: string;
  write(bytes: Uint8Array): void;
  /** Puts it at its place; durable when this returns. */
  keep(): void;
  /** Removes what was written; does nothing once it was kept. */
  drop(): void;
}

export interface NewFileOptions {
  readonly file: string;
  readonly over: Over;
  /** Permissions, reduced by the person's own umask. */
  readonly mode?: number;
  /** What the remedy in a refusal asks for. */
  readonly another?: "file" | "folder";
}

/** O_EXCL makes a new file or fails, and follows no link (POSIX open(2)). */
const MAKE = constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL;
/** Errors of file systems without hard links, such as exFAT. */
const NO_LINKS = new Set(["EPERM", "ENOTSUP", "EOPNOTSUPP", "ENOSYS", "EMLINK"]);

/** A rename is durable once its folder is synced; where a folder cannot be opened (Windows) the system does this. */
function syncFolder(folder: string): void {
  if (process.platform === "win32") return;
  const handle = openSync(folder, constants.O_RDONLY);
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

/** Moves the bytes to their name only where no file has it. */
function putWhereNothingIs(beside: string, file: string): void {
  try {
    linkSync(beside, file);
    rmSync(beside);
  } catch (cause) {
    if (!NO_LINKS.has(codeOf(cause))) throw cause;
    closeSync(openSync(file, "wx"));
    renameSync(beside, file);
  }
}

/** Begins a file in an existing folder. */
export function beginFile({ file, over, mode = 0o666, another = "file" }: NewFileOptions): NewFile {
  checkPlace(file, over, another);
  const folder = dirname(file);
  const beside = join(folder, `gripbook-${randomBytes(12).toString("hex")}.part`);
  let handle: number | null = null;
  const close = () => {
    if (handle !== null) closeSync(handle);
    handle = null;
  };
  const drop = () => {
    close();
    rmSync(beside, { force: true });
  };
  const onDisk = <T>(work: () => T): T => {
    try {
      return work();
    } catch (cause) {
      drop();
      if (cause instanceof FileRefused) throw cause;
      if (codeOf(cause) === "EEXIST") throw new FileRefused(`${file} is there already: name another ${another}`, { cause });
      throw new FileError(`${file}: cannot be written (${codeOf(cause)}); check its folder's permissions and room, or name another place`, {
        cause,
      });
    }
  };
  handle = onDisk(() => openSync(beside, MAKE, mode));
  const opened = handle;
  return {
    beside,
    write: (bytes) =>
      onDisk(() => {
        for (let at = 0; at < bytes.length; ) at += writeSync(opened, bytes, at);
      }),
    keep: () =>
      onDisk(() => {
        fsyncSync(opened);
        close();
        if (over === "nothing" || over === "unforced") putWhereNothingIs(beside, file);
        else {
          // Somebody may have put a valuable file there meanwhile.
          checkPlace(file, over, another);
          renameSync(beside, file);
        }
        syncFolder(folder);
      }),
    drop,
  };
}

/** Writes a whole file from its pieces. */
export function writeNewFile(options: NewFileOptions, pieces: Iterable<Uint8Array>): void {
  const file = beginFile(options);
  try {
    for (const piece of pieces) file.write(piece);
    file.keep();
  } finally {
    file.drop();
  }
}
