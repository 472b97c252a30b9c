/**
 * Decodes and aligns a stored recording again from its journal, letting other work run in between. A set-up that cannot be used throws
 * SetUpError.
 */
import { alignRecording } from "../../../shared/align/align-recording.ts";
import type { AlignedRecording } from "../../../shared/align/aligned-recording.ts";
import { withoutByteTime } from "../../../shared/pipeline/byte-time.ts";
import { createDecodeStream } from "../../../shared/pipeline/decode-stream.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import type { Book, Recording } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { packetsOf } from "../library/recorded-packets.ts";
import { readSetUp } from "../basics/read-set-up.ts";

/** Packets in one step: a few milliseconds of decoding. */
const PACKETS_A_BREATH = 4096;

/** Its first `mostNs`, with the set-up that it was decoded with. */
export async function alignedRecording(
  book: Book,
  recording: Recording,
  mostNs: number,
): Promise<{ readonly aligned: AlignedRecording; readonly setUp: SetUp }> {
  const ready = readSetUp(recording.setUp, `Set-up of recording ${recording.id}`);
  const setUp = recording.origin === "live" ? ready.setUp : withoutByteTime(ready.setUp);
  const stream = createDecodeStream({ setUp, databases: ready.databases, canFormat: recording.canFormat });
  let endNs = 0;
  let count = 0;
  for (const packet of packetsOf(book, recording.id)) {
    if (packet.arrivalNs > mostNs) break;
    stream.push(packet);
    endNs = packet.arrivalNs;
    count += 1;
    if (count % PACKETS_A_BREATH === 0) await breathe();
  }
  stream.flush();
  await breathe();
  const gaps = book.gaps(recording.id).filter((gap) => gap.fromNs < endNs);
  return { aligned: alignRecording(stream.tracks(endNs, gaps), setUp), setUp };
}
