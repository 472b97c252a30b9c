/**
 * Room kept free on a drive for the moment when it is full: a file that grows by a step where there is plenty, and is given up in two parts. Where the
 * system refuses it there is no room, and nothing stops.
 */
import { randomBytes } from "node:crypto";
import { rmSync, statfsSync, statSync, truncateSync } from "node:fs";
import { dirname } from "node:path";
import { codeOf } from "./file-error.ts";
import { addToFile, beginGrowingFile } from "./growing-file.ts";

const STEP_BYTES = 2 ** 19;
/** Half a minute of a full bus. */
const WHOLE_BYTES = 8 * 2 ** 20;
/** Enough to say what was lost. */
const REST_BYTES = 2 ** 18;
const PLENTY_BYTES = 64 * 2 ** 20;

export interface Room {
  /** One step, until it is whole. */
  grow(): void;
  /** Most of it, or what is left. */
  give(part: "most" | "rest"): void;
}

function isPlenty(file: string): boolean {
  const { bavail, bsize } = statfsSync(dirname(file));
  return bavail * bsize > PLENTY_BYTES;
}

export function createRoom(file: string): Room {
  let bytes = 0;
  let refused = false;

  function step(): void {
    if (!isPlenty(file)) return;
    // No zeros: a drive that compresses would keep no room for them.
    const more = randomBytes(STEP_BYTES);
    if (bytes === 0) {
      // One that a killed process left.
      rmSync(file, { force: true });
      beginGrowingFile(file, more);
    } else addToFile(file, more);
    bytes += STEP_BYTES;
  }

  return {
    grow() {
      if (refused || bytes >= WHOLE_BYTES) return;
      try {
        step();
      } catch (error) {
        if (codeOf(error) === String(error)) throw error;
        refused = true;
      }
    },
    give(part) {
      refused = true;
      if (bytes === 0 || statSync(file, { throwIfNoEntry: false }) === undefined) return;
      if (part === "most") truncateSync(file, REST_BYTES);
      else {
        rmSync(file, { force: true });
        bytes = 0;
      }
    },
  };
}
