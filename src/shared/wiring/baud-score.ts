/**
 * Rates how much a stretch of bytes looks like a receiver's sentences or an adapter's lines: the share of bytes in whole, valid lines. At a
 * wrong baud it is near 0. Pure; any bytes give a score.
 */
import { FrameBatch } from "../frames/frame-batch.ts";
import { createReceiverEar } from "../receiver/receiver-bytes.ts";
import { createSlcanParser } from "../frames/slcan-parser.ts";

export interface TalkScore {
  /** 0 to 1: share of the bytes between the first and the last line end that are valid lines. */
  readonly nmea: number;
  readonly slcan: number;
  /** Sentences with a good checksum. */
  readonly sentences: number;
  /** Well-formed frame lines. */
  readonly frames: number;
  /** What sends these bytes. Needs a majority of the bytes in valid lines, and at least three such lines. */
  readonly talks: "nmea" | "slcan" | null;
}

const LEAST_LINES = 3;
const LEAST_SHARE = 0.6;
const BATCH_BYTES = 4096;

/** Rates bytes received on a port; a cut line at either end does not count against it. */
export function scoreTalk(bytes: Uint8Array): TalkScore {
  const whole = betweenLineEnds(bytes);
  const scanner = createReceiverEar();
  scanner.push(whole);
  const parser = createSlcanParser();
  const batch = new FrameBatch();
  for (let from = 0; from < whole.length; from += BATCH_BYTES) {
    parser.push(whole.subarray(from, from + BATCH_BYTES), 0, batch);
    batch.clear();
  }
  const sentences = scanner.counts.sentences;
  const frames = parser.counts.frames;
  const nmea = sentences === 0 ? 0 : scanner.counts.acceptedBytes / whole.length;
  const slcan = frames === 0 ? 0 : parser.counts.acceptedBytes / whole.length;
  const isNmea = sentences >= LEAST_LINES && nmea >= LEAST_SHARE;
  const isSlcan = frames >= LEAST_LINES && slcan >= LEAST_SHARE;
  return { nmea, slcan, sentences, frames, talks: isNmea && nmea >= slcan ? "nmea" : isSlcan ? "slcan" : null };
}

function betweenLineEnds(bytes: Uint8Array): Uint8Array {
  const isEnd = (byte: number) => byte === 0x0d || byte === 0x0a || byte === 0x07;
  let from = 0;
  while (from < bytes.length && !isEnd(bytes[from])) from += 1;
  let to = bytes.length;
  while (to > from && !isEnd(bytes[to - 1])) to -= 1;
  return bytes.subarray(Math.min(from + 1, to), to);
}
