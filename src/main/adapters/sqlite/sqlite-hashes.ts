/**
 * Set-ups with their signal files, and kept files, each stored under the hash of its content. One that does not match its hash becomes a
 * line, never an exception.
 */
import { createHash } from "node:crypto";
import type { Database } from "better-sqlite3";
import type { SignalFileText } from "../../ports/book.ts";
import { CHANGED } from "./sqlite-seals.ts";

/** Checks set-ups, signal files and kept files against their hashes. */
export function hashFaults(db: Database): string[] {
  const setUps = db.prepare("SELECT id, sha256, text FROM set_up").all() as { id: number; sha256: string; text: string }[];
  const files = db.prepare("SELECT sha256, name, bytes FROM kept_file").all() as { sha256: string; name: string; bytes: Uint8Array }[];
  return [
    ...setUps
      .filter(({ id, sha256, text }) => setUpHash(text, signalFilesOf(db, id)) !== sha256)
      .map(({ id }) => `set-up ${id} or a signal file of it is ${CHANGED}; run rederive with --setup and the right set-up`),
    ...files
      .filter(({ sha256, bytes }) => createHash("sha256").update(bytes).digest("hex") !== sha256)
      .map(({ name }) => `the kept file ${JSON.stringify(name)} is ${CHANGED}; keep it once more`),
  ];
}

export function signalFilesOf(db: Database, setUp: number): readonly SignalFileText[] {
  return db.prepare("SELECT name, text FROM signal_file WHERE set_up = ? ORDER BY position").all(setUp) as SignalFileText[];
}

export function setUpHash(text: string, signalFiles: readonly SignalFileText[]): string {
  return createHash("sha256")
    .update(JSON.stringify([text, signalFiles.map((file) => [file.name, file.text])]))
    .digest("hex");
}
