/**
 * A note beside the packages of who is downloading the Electron runtime, so that two starts download it once. A note that is missing,
 * unreadable or of a dead process counts as none.
 */
import { rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { makeFolder } from "../../disk/make-folder.ts";
import { writeNewFile } from "../../disk/new-file.ts";
import { MOST_TEXT_BYTES, readPlainFile } from "../../disk/read-file.ts";

/** A download without progress for this long is given up; the next start begins again. */
export const LONGEST_FETCH_MS = 3_600_000;

const noteFile = (folder: string) => join(dirname(folder), ".cache", "gripbook", "electron-fetch.json");

export function fetchUnderWay(folder: string): boolean {
  try {
    const { pid, startedMs } = JSON.parse(readPlainFile({ file: noteFile(folder), what: "Note" }, MOST_TEXT_BYTES).toString("utf8")) as {
      pid?: unknown;
      startedMs?: unknown;
    };
    if (typeof pid !== "number" || typeof startedMs !== "number" || Date.now() - startedMs > LONGEST_FETCH_MS) return false;
    return process.kill(pid, 0);
  } catch {
    return false;
  }
}

/** Writes the note for this process; returns a function that removes it. */
export function noteFetch(folder: string): () => void {
  const file = noteFile(folder);
  makeFolder(dirname(file));
  writeNewFile({ file, over: "own" }, [Buffer.from(JSON.stringify({ pid: process.pid, startedMs: Date.now() }))]);
  return () => rmSync(file, { force: true });
}
