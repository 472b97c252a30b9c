/**
 * The one way in which Gripbook writes a file: whole, beside its place, under a name that nobody can have guessed, then put there by one step of the
 * file system. A kill leaves the old file or the new one. A refused place throws FileRefused, a disk that will not FileError, and neither leaves a part.
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
  /** Puts it at its place, durable when this returns. */
  keep(): void;
  /** Takes away what was written; nothing once it was kept. */
  drop(): void;
}

export interface NewFileOptions {
  readonly file: string;
  readonly over: Over;
  /** Permissions, less the person's own mask. */
  readonly mode?: number;
  /** What a refusal's remedy asks for. */
  readonly another?: "file" | "folder";
}

/** O_EXCL makes it or fails, and follows no link (POSIX open(2)). */
const MAKE = constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL;
/** File systems without hard links, such as exFAT. */
const NO_LINKS = new Set(["EPERM", "ENOTSUP", "EOPNOTSUPP", "ENOSYS", "EMLINK"]);

/** A rename is durable once its folder is; where a folder cannot be opened (Windows) the system sees to it. */
function syncFolder(folder: string): void {
  if (process.platform === "win32") return;
  const handle = openSync(folder, constants.O_RDONLY);
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

/** Gives the bytes their name only where nothing has it. */
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

/** Begins a file in a folder that is there. */
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
          // Somebody may have put something of worth there meanwhile.
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
