/**
 * The gentle driving in the recordings of a book's runs, to which drag and rolling resistance are fitted. Read from the journal once for
 * each calibration. Only the newest recordings are used, and at most a quarter of an hour of each; one that is still open is left out.
 */
import { type ForceBlocks, gentleBlocks } from "../../../shared/tune/force-blocks.ts";
import type { Book, Recording, StoredCalibration } from "../../ports/book.ts";
import { alignedRecording } from "./aligned-recording.ts";

const MOST_RECORDINGS = 3;
const MOST_NS = 900e9;

const known = new WeakMap<Book, Map<string, readonly ForceBlocks[]>>();

/** From the recordings with these ids, newest first; empty where there is none. A set-up that cannot be used throws SetUpError. */
export async function gentleDriving(book: Book, recordings: readonly number[]): Promise<ForceBlocks[]> {
  const found: ForceBlocks[] = [];
  const newest = [...new Set(recordings)].sort((a, b) => b - a).slice(0, MOST_RECORDINGS);
  for (const id of newest) {
    const recording = book.recording(id);
    const calibration = book.newestCalibration(id);
    if (recording.state === "open" || calibration === null) continue;
    found.push(...(await blocksOf(book, recording, calibration)));
  }
  return found;
}

async function blocksOf(book: Book, recording: Recording, { id, calibration }: StoredCalibration): Promise<readonly ForceBlocks[]> {
  const kept = known.get(book) ?? new Map<string, readonly ForceBlocks[]>();
  known.set(book, kept);
  const key = `${recording.uid}/${id}`;
  const before = kept.get(key);
  if (before !== undefined) return before;
  const { aligned, setUp } = await alignedRecording(book, recording, MOST_NS);
  const blocks = gentleBlocks(aligned, calibration, setUp);
  kept.set(key, blocks);
  return blocks;
}
