/** Finds a running process by words among its arguments (Linux). Null where there is none. */
import { readdirSync, readFileSync } from "node:fs";

/** The process that has every word among its arguments. */
export function pidOf(...words: string[]): number | null {
  for (const pid of readdirSync("/proc").filter((name) => /^\d+$/.test(name))) {
    try {
      const line = readFileSync(`/proc/${pid}/cmdline`, "utf8");
      if (words.every((word) => line.includes(word))) return Number(pid);
    } catch (error) {
      // Processes end while they are looked at.
      if (!["ENOENT", "EACCES", "ESRCH"].includes((error as NodeJS.ErrnoException).code ?? "")) throw error;
    }
  }
  return null;
}
