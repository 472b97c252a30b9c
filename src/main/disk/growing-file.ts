/**
 * A file that only grows, for its owner alone. Each piece is durable when it was added; one that does not fit is taken off again, so that
 * the file always ends with a whole piece. Throws the system's own error.
 */
import { closeSync, constants, fdatasyncSync, fstatSync, ftruncateSync, openSync, rmSync, writeSync } from "node:fs";

/** O_EXCL makes a new file or fails; O_NOFOLLOW (not on Windows) follows no link that was put there meanwhile (POSIX open(2)). */
const MAKE = constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL;
const ADD = constants.O_WRONLY | constants.O_APPEND | (constants.O_NOFOLLOW ?? 0);

function add(handle: number, bytes: Uint8Array): void {
  const { size } = fstatSync(handle);
  try {
    for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
    fdatasyncSync(handle);
  } catch (error) {
    ftruncateSync(handle, size);
    throw error;
  }
}

/** A new file with its first piece; nothing stays of one that cannot be made. */
export function beginGrowingFile(file: string, bytes: Uint8Array): void {
  const handle = openSync(file, MAKE, 0o600);
  try {
    add(handle, bytes);
  } catch (error) {
    rmSync(file, { force: true });
    throw error;
  } finally {
    closeSync(handle);
  }
}

export function addToFile(file: string, bytes: Uint8Array): void {
  const handle = openSync(file, ADD);
  try {
    add(handle, bytes);
  } finally {
    closeSync(handle);
  }
}
