/** Kills a recording process at a given moment, and tells what the book then holds of what the process had been handed. */
import { spawn } from "node:child_process";
import { fileURLToPath } from "node:url";
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";

const VICTIM = fileURLToPath(new URL("journal-victim.ts", import.meta.url));

export interface Killed {
  /** Packets, one a millisecond, handed over before the kill that are not in the book. */
  readonly lostMs: number;
  readonly faults: readonly string[];
}

export async function killRecorder(file: string, afterMs: number): Promise<Killed> {
  const child = spawn(process.execPath, [VICTIM, file], { stdio: ["ignore", "pipe", "inherit"] });
  let said = "";
  child.stdout.setEncoding("latin1").on("data", (text: string) => {
    said += text;
  });
  while (said === "") await new Promise((done) => setTimeout(done, 5));
  await new Promise((done) => setTimeout(done, afterMs));
  const closed = new Promise((done) => child.once("close", done));
  child.kill("SIGKILL");
  await closed;
  const lines = said.split("\n").filter((line) => /^\d+ \d+$/.test(line));
  const [recording, sent] = (lines.at(-1) as string).split(" ").map(Number) as [number, number];
  const book = openSqliteBook({ file, create: false });
  const stored = [...book.packets(recording)].length;
  const faults = [...book.integrityFaults(), ...book.journalFaults(recording)];
  book.close();
  return { lostMs: sent - stored, faults };
}
