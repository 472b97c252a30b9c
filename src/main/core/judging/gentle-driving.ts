/**
 * The gentle driving that lies in the recordings of a book's runs, as the tune room fits drag and rolling to it. Read from the journal once for each
 * calibration; the newest recordings only, and of each no more than its first quarter of an hour. A recording that still runs is left alone.
 */
import { alignRecording } from "../../../shared/align/align-recording.ts";
import { withoutByteTime } from "../../../shared/pipeline/byte-time.ts";
import { createDecodeStream } from "../../../shared/pipeline/decode-stream.ts";
import { type ForceBlocks, gentleBlocks } from "../../../shared/tune/force-blocks.ts";
import type { Book, Recording, StoredCalibration } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { readSetUp } from "../basics/read-set-up.ts";

const MOST_RECORDINGS = 3;
const MOST_NS = 900e9;
/** A few milliseconds of decoding. */
const PACKETS_A_BREATH = 4096;

const known = new WeakMap<Book, Map<string, readonly ForceBlocks[]>>();

/** Of the recordings with these ids, the newest first; empty where none holds any. A set-up that cannot be used throws SetUpError. */
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
  const ready = readSetUp(recording.setUp, `Set-up of recording ${recording.id}`);
  const setUp = recording.origin === "live" ? ready.setUp : withoutByteTime(ready.setUp);
  const stream = createDecodeStream({ setUp, databases: ready.databases, canFormat: recording.canFormat });
  let endNs = 0;
  let count = 0;
  for (const packet of book.packets(recording.id)) {
    if (packet.arrivalNs > MOST_NS) break;
    stream.push(packet);
    endNs = packet.arrivalNs;
    count += 1;
    if (count % PACKETS_A_BREATH === 0) await breathe();
  }
  stream.flush();
  await breathe();
  const gaps = book.gaps(recording.id).filter((gap) => gap.fromNs < endNs);
  const blocks = gentleBlocks(alignRecording(stream.tracks(endNs, gaps), setUp), calibration, setUp);
  kept.set(key, blocks);
  return blocks;
}
