/**
 * Remembers which own car was measured last (its set-up and its book) in the program's data folder, so that the next start can offer it. A
 * note that cannot be read, or whose set-up is gone, offers nothing. One that cannot be written says so and stops nothing.
 */
import { existsSync } from "node:fs";
import type { LastCar } from "../../ports/set-up-desk.ts";
import { createSetUpStore } from "./set-up-store.ts";
import { dirname } from "node:path";
import { parseJson } from "../../../shared/kernel/parse-json.ts";
import { makeFolder } from "../../disk/make-folder.ts";
import { writeNewFile } from "../../disk/new-file.ts";
import { MOST_TEXT_BYTES, readPlainFile } from "../../disk/read-file.ts";

export interface LastCarNote {
  /** Null where there is nothing to offer. */
  read(): LastCar | null;
  write(car: Pick<LastCar, "setUpFile" | "bookFile">): void;
}

/** `file` null: nothing is remembered. */
export function createLastCarNote(file: string | null): LastCarNote {
  return {
    read() {
      if (file === null || !existsSync(file)) return null;
      try {
        const { setUpFile, bookFile } = (parseJson(
          readPlainFile({ file, what: "Note of the last car" }, MOST_TEXT_BYTES).toString("utf8"),
        ) ?? {}) as Record<string, unknown>;
        if (typeof setUpFile !== "string" || typeof bookFile !== "string" || !existsSync(setUpFile)) return null;
        return { setUpFile, bookFile, car: createSetUpStore(setUpFile).read().draft.car.name ?? "" };
      } catch {
        // The note is damaged, or its set-up is not one: treated as if nothing had been remembered. Naming the file opens it and shows the
        // error.
        return null;
      }
    },
    write({ setUpFile, bookFile }) {
      if (file === null) return;
      makeFolder(dirname(file));
      writeNewFile({ file, over: "own" }, [Buffer.from(`${JSON.stringify({ setUpFile, bookFile }, null, 2)}\n`)]);
    },
  };
}
