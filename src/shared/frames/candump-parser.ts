/**
 * Parses candump log lines, `(sec.micros) can0 ID#HEX` with or without the time, into a batch of frames. Chunks may end anywhere. Bounded
 * memory, linear work. A line that is no frame is dropped and counted (error frames in a count of their own). Never throws. Grammar:
 * can-utils `candump -L` (Debian package can-utils), CAN FD as `ID##<flags>HEX`, remote as `ID#R<dlc>`.
 */
import { CLOSE, CR, DOT, LF, OPEN, SPACE } from "../kernel/ascii.ts";
import { FD_LENGTHS, FRAME_EXTENDED, FRAME_FD, FRAME_REMOTE, type FrameBatch } from "./frame-batch.ts";
import { createKernelStamps, type KernelStamps } from "./kernel-stamps.ts";
import { HEX_DIGIT, readHex } from "./hex-digit.ts";

const TAB = 0x09;
const HASH = 0x23;
const UNDERSCORE = 0x5f;
const LETTER_R = 0x52;
/** Time, a 15-letter interface name, id, 128 data digits and what a log may add after them. */
const LONGEST_LINE = 256;
/** The error-frame bit of a Linux identifier (linux/can.h CAN_ERR_FLAG). */
const ERROR_FLAG = 0x20000000;

interface CandumpCounts {
  bytes: number;
  /** Bytes of frames, error frames, empty lines and line ends. */
  acceptedBytes: number;
  /** Bytes of dropped lines, without their line ends. */
  droppedBytes: number;
  frames: number;
  /** Of these, CAN FD frames. */
  fdFrames: number;
  errorFrames: number;
  malformedLines: number;
  overlongLines: number;
}

export interface CandumpParser {
  /** Adds the frames whose line end lies in `bytes`; `stampMs` is the line's own time in ms since 1970, NaN if none. */
  push(bytes: Uint8Array, arrivalNs: number, out: FrameBatch): void;
  /** Reads a last line without a line end. */
  flush(out: FrameBatch): void;
  readonly counts: Readonly<CandumpCounts>;
}

/** A parser with nothing read yet. */
export function createCandumpParser(): CandumpParser {
  return new Parser();
}

class Parser implements CandumpParser {
  readonly counts: CandumpCounts = {
    bytes: 0,
    acceptedBytes: 0,
    droppedBytes: 0,
    frames: 0,
    fdFrames: 0,
    errorFrames: 0,
    malformedLines: 0,
    overlongLines: 0,
  };
  readonly #stamps = createKernelStamps();
  readonly #line = new Uint8Array(LONGEST_LINE);
  #lineLength = 0;
  #lineArrivalNs = 0;
  #overlong = false;

  push(bytes: Uint8Array, arrivalNs: number, out: FrameBatch): void {
    this.counts.bytes += bytes.length;
    let from = 0;
    for (let i = 0; i < bytes.length; i++) {
      if (bytes[i] !== LF && bytes[i] !== CR) continue;
      if (this.#lineLength === 0 && !this.#overlong && i - from <= LONGEST_LINE) this.#readLine(bytes, from, i, arrivalNs, out);
      else {
        this.#keep(bytes, from, i, arrivalNs);
        this.#endKept(out);
      }
      this.counts.acceptedBytes += 1;
      from = i + 1;
    }
    if (from < bytes.length) this.#keep(bytes, from, bytes.length, arrivalNs);
  }

  flush(out: FrameBatch): void {
    this.#endKept(out);
  }

  #endKept(out: FrameBatch): void {
    const length = this.#lineLength;
    this.#lineLength = 0;
    if (!this.#overlong) this.#readLine(this.#line, 0, length, this.#lineArrivalNs, out);
    this.#overlong = false;
  }

  #keep(bytes: Uint8Array, from: number, to: number, arrivalNs: number): void {
    if (this.#overlong) {
      this.counts.droppedBytes += to - from;
      return;
    }
    if (this.#lineLength + to - from > LONGEST_LINE) {
      this.counts.overlongLines += 1;
      this.counts.droppedBytes += this.#lineLength + to - from;
      this.#lineLength = 0;
      this.#overlong = true;
      return;
    }
    if (this.#lineLength === 0) this.#lineArrivalNs = arrivalNs;
    for (let i = from; i < to; i++) this.#line[this.#lineLength++] = bytes[i];
  }

  #readLine(bytes: Uint8Array, from: number, to: number, arrivalNs: number, out: FrameBatch): void {
    const outcome = from === to ? "empty" : readCandumpLine(bytes, from, to, arrivalNs, this.#stamps, out);
    if (outcome === "malformed") {
      this.counts.malformedLines += 1;
      this.counts.droppedBytes += to - from;
      return;
    }
    this.counts.acceptedBytes += to - from;
    if (outcome === "frame") {
      this.counts.frames += 1;
      if ((out.flags[out.length - 1] & FRAME_FD) !== 0) this.counts.fdFrames += 1;
    }
    if (outcome === "error frame") this.counts.errorFrames += 1;
  }
}

/** Reads one whole line (without its end) into a new row of the batch; a line that is no frame adds no row. */
function readCandumpLine(
  bytes: Uint8Array,
  from: number,
  to: number,
  arrivalNs: number,
  stamps: KernelStamps,
  out: FrameBatch,
): "frame" | "error frame" | "malformed" {
  let at = skipBlank(bytes, from, to);
  let stampMs = Number.NaN;
  if (bytes[at] === OPEN) {
    let close = at + 1;
    while (close < to && bytes[close] !== CLOSE) close += 1;
    stampMs = readTimeMs(bytes, at + 1, close);
    if (close >= to || Number.isNaN(stampMs)) return "malformed";
    at = skipBlank(bytes, close + 1, to);
  }
  const nameEnd = endOfWord(bytes, at, to);
  const idAt = skipBlank(bytes, nameEnd, to);
  const wordEnd = endOfWord(bytes, idAt, to);
  let hash = idAt;
  while (hash < wordEnd && bytes[hash] !== HASH) hash += 1;
  const digits = hash - idAt;
  if (nameEnd === at || hash === wordEnd || (digits !== 3 && digits !== 8)) return "malformed";
  const id = readHex(bytes, idAt, digits);
  if (id < 0 || (digits === 3 && id > 0x7ff)) return "malformed";
  if (digits === 8 && id > 0x1fffffff) return id < 0x40000000 && id >= ERROR_FLAG ? "error frame" : "malformed";
  const body = readBody(bytes, hash + 1, wordEnd);
  if (body === null) return "malformed";
  const row = out.addRow();
  out.arrivalNs[row] = arrivalNs;
  out.stampMs[row] = stampMs;
  // A stored log's lines have no time of their own any more; a line that has one came from the kernel.
  out.adapterMs[row] = Number.isNaN(stampMs) ? Number.NaN : stamps.push(stampMs, arrivalNs);
  out.clockSegment[row] = stamps.segment;
  out.id[row] = id;
  out.flags[row] = (digits === 8 ? FRAME_EXTENDED : 0) | body.flags;
  out.dlc[row] = body.dlc;
  out.byteLength[row] = body.count;
  const dataByte = (k: number) => (k < body.count ? readHex(bytes, body.dataAt + 2 * k, 2) : 0);
  out.word0[row] = (dataByte(0) << 24) | (dataByte(1) << 16) | (dataByte(2) << 8) | dataByte(3);
  out.word1[row] = (dataByte(4) << 24) | (dataByte(5) << 16) | (dataByte(6) << 8) | dataByte(7);
  out.poolStart[row] = -1;
  if (body.count > 8) {
    const start = out.addPool(body.count);
    for (let k = 0; k < body.count; k++) out.pool[start + k] = dataByte(k);
    out.poolStart[row] = start;
  }
  return "frame";
}

interface Body {
  readonly flags: number;
  readonly dlc: number;
  readonly dataAt: number;
  readonly count: number;
}

/** What follows the first `#`: data digits, `R` with an optional length, or `#`, FD flags and data digits. */
function readBody(bytes: Uint8Array, from: number, to: number): Body | null {
  if (bytes[from] === LETTER_R && from < to) {
    if (to === from + 1) return { flags: FRAME_REMOTE, dlc: 0, dataAt: from, count: 0 };
    const dlc = HEX_DIGIT[bytes[from + 1]];
    return to === from + 2 && dlc >= 0 && dlc <= 8 ? { flags: FRAME_REMOTE, dlc, dataAt: from, count: 0 } : null;
  }
  const fd = bytes[from] === HASH && from < to;
  const dataAt = fd ? from + 2 : from;
  if (fd && (dataAt > to || HEX_DIGIT[bytes[from + 1]] < 0)) return null;
  let end = dataAt;
  while (end < to && HEX_DIGIT[bytes[end]] >= 0) end += 1;
  const count = (end - dataAt) / 2;
  const dlc = FD_LENGTHS.indexOf(count);
  if (fd) return end === to && dlc >= 0 ? { flags: FRAME_FD, dlc, dataAt, count } : null;
  if (dlc < 0 || count > 8) return null;
  if (end === to) return { flags: 0, dlc, dataAt, count };
  // `_9` to `_F` after eight bytes: the raw length code of a classic frame.
  const raw = HEX_DIGIT[bytes[end + 1]];
  return bytes[end] === UNDERSCORE && end + 2 === to && count === 8 && raw > 8 ? { flags: 0, dlc: raw, dataAt, count } : null;
}

/** `sec.fraction` in ms to the microsecond; NaN if it is not that. */
function readTimeMs(bytes: Uint8Array, from: number, to: number): number {
  let micros = 0;
  let decimals = -1;
  if (from === to || bytes[from] === DOT) return Number.NaN;
  for (let i = from; i < to; i++) {
    if (bytes[i] === DOT && decimals < 0) {
      decimals = 0;
      continue;
    }
    const digit = bytes[i] - 0x30;
    if (!(digit >= 0 && digit <= 9)) return Number.NaN;
    if (decimals < 6) micros = micros * 10 + digit;
    if (decimals >= 0) decimals += 1;
  }
  for (let k = Math.max(0, decimals); k < 6; k++) micros *= 10;
  return Number.isSafeInteger(micros) ? micros / 1000 : Number.NaN;
}

function skipBlank(bytes: Uint8Array, from: number, to: number): number {
  let at = from;
  while (at < to && (bytes[at] === SPACE || bytes[at] === TAB)) at += 1;
  return at;
}

function endOfWord(bytes: Uint8Array, from: number, to: number): number {
  let at = from;
  while (at < to && bytes[at] !== SPACE && bytes[at] !== TAB) at += 1;
  return at;
}
