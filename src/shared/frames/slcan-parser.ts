/**
 * Parses an SLCAN byte stream into a batch of frames. Chunks may end anywhere. Bounded memory, linear work. A line that is neither frame
 * nor answer is dropped whole and counted; reading goes on with the next line. Never throws. Grammar: docs/check-values.md, SLCAN (adapter
 * command sheet, Linux slcan driver, adapter firmware for FD).
 */
import { BEL, CR, LF } from "../kernel/ascii.ts";
import { FD_LENGTHS, FRAME_EXTENDED, FRAME_FD, FRAME_REMOTE, type FrameBatch } from "./frame-batch.ts";
import { HEX_DIGIT, readHex } from "./hex-digit.ts";
import { readSlcanReply, type SlcanReply } from "./slcan-replies.ts";
import { createStampUnwrap, MICRO_STAMP_PERIOD_MS, STAMP_PERIOD_MS, type StampUnwrap } from "./stamp-unwrap.ts";

/** Longest frame line: D, 8 id digits, length, 128 data digits, 8 stamp digits. Version texts are shorter. */
const LONGEST_LINE = 146;

/** Counts so far; `bytes` = accepted + dropped + those that wait for their line end. */
interface SlcanCounts {
  bytes: number;
  /** Bytes of lines understood, line ends included. */
  acceptedBytes: number;
  /** Bytes of dropped lines, without their line ends. */
  droppedBytes: number;
  frames: number;
  /** Of these, CAN FD frames. */
  fdFrames: number;
  stampedFrames: number;
  /** Frames whose stamp could not be read; the frame is kept without it. */
  badStamps: number;
  malformedLines: number;
  overlongLines: number;
  /** Empty lines: commands accepted. */
  okReplies: number;
  /** Bells: commands refused. */
  refusals: number;
  transmitConfirmations: number;
  otherReplies: number;
}

export interface SlcanParser {
  /** Adds the frames whose line end lies in `bytes`. `arrivalNs` never falls from call to call. */
  push(bytes: Uint8Array, arrivalNs: number, out: FrameBatch): void;
  readonly counts: Readonly<SlcanCounts>;
  /** Stamps that fitted no clock (see stamp-unwrap.ts). */
  readonly unsureStamps: number;
  /** The port was reopened: the half line is dropped and counted, and the next stamp starts a new clock segment. */
  reopen(): void;
}

/** A fresh parser; `onReply` gets the adapter's answers and reports in order. */
export function createSlcanParser(options: { readonly onReply?: (reply: SlcanReply, arrivalNs: number) => void } = {}): SlcanParser {
  return new Parser(options.onReply);
}

class Parser implements SlcanParser {
  readonly counts: SlcanCounts = {
    bytes: 0,
    acceptedBytes: 0,
    droppedBytes: 0,
    frames: 0,
    fdFrames: 0,
    stampedFrames: 0,
    badStamps: 0,
    malformedLines: 0,
    overlongLines: 0,
    okReplies: 0,
    refusals: 0,
    transmitConfirmations: 0,
    otherReplies: 0,
  };
  readonly #onReply: ((reply: SlcanReply, arrivalNs: number) => void) | undefined;
  readonly #unwrap: StampUnwrap = createStampUnwrap();
  /** Start of a line whose end has not come yet. */
  readonly #line = new Uint8Array(LONGEST_LINE);
  #lineLength = 0;
  #lineArrivalNs = 0;
  /** True while the rest of a line that is too long is skipped. */
  #overlong = false;

  constructor(onReply: ((reply: SlcanReply, arrivalNs: number) => void) | undefined) {
    this.#onReply = onReply;
  }

  get unsureStamps(): number {
    return this.#unwrap.unsure;
  }

  reopen(): void {
    this.counts.droppedBytes += this.#lineLength;
    this.#lineLength = 0;
    this.#overlong = false;
    this.#unwrap.breakClock();
  }

  push(bytes: Uint8Array, arrivalNs: number, out: FrameBatch): void {
    const counts = this.counts;
    const end = bytes.length;
    counts.bytes += end;
    let from = 0;
    for (let i = 0; i < end; i++) {
      const byte = bytes[i];
      if (byte > CR || (byte !== CR && byte !== BEL && byte !== LF)) continue;
      if (this.#lineLength > 0 || this.#overlong) this.#endKeptLine(bytes, from, i, byte, out);
      else if (i - from > LONGEST_LINE) this.#dropOverlong(i - from, 1);
      else this.#readLine(bytes, from, i, byte, arrivalNs, out);
      from = i + 1;
    }
    if (from < end) this.#keep(bytes, from, end, arrivalNs);
  }

  #keep(bytes: Uint8Array, from: number, to: number, arrivalNs: number): void {
    if (this.#overlong) {
      this.counts.droppedBytes += to - from;
      return;
    }
    if (this.#lineLength + to - from > LONGEST_LINE) {
      this.#dropOverlong(this.#lineLength + to - from, 0);
      this.#lineLength = 0;
      this.#overlong = true;
      return;
    }
    if (this.#lineLength === 0) this.#lineArrivalNs = arrivalNs;
    for (let i = from; i < to; i++) this.#line[this.#lineLength++] = bytes[i];
  }

  #endKeptLine(bytes: Uint8Array, from: number, to: number, lineEnd: number, out: FrameBatch): void {
    this.#keep(bytes, from, to, this.#lineArrivalNs);
    const length = this.#lineLength;
    this.#lineLength = 0;
    if (this.#overlong) {
      this.#overlong = false;
      this.counts.acceptedBytes += 1;
    } else this.#readLine(this.#line, 0, length, lineEnd, this.#lineArrivalNs, out);
  }

  #dropOverlong(count: number, lineEnds: number): void {
    this.counts.acceptedBytes += lineEnds;
    this.counts.overlongLines += 1;
    this.counts.droppedBytes += count;
  }

  #readLine(bytes: Uint8Array, from: number, to: number, lineEnd: number, arrivalNs: number, out: FrameBatch): void {
    const counts = this.counts;
    counts.acceptedBytes += 1;
    if (from === to) {
      // A line feed is no answer: some logs and adapters add one after the carriage return.
      if (lineEnd === CR) {
        counts.okReplies += 1;
        this.#onReply?.({ kind: "ok" }, arrivalNs);
      } else if (lineEnd === BEL) {
        counts.refusals += 1;
        this.#onReply?.({ kind: "refused" }, arrivalNs);
      }
      return;
    }
    if (this.#readFrame(bytes, from, to, arrivalNs, out) || this.#readReply(bytes, from, to, arrivalNs)) {
      counts.acceptedBytes += to - from;
      return;
    }
    counts.malformedLines += 1;
    counts.droppedBytes += to - from;
  }

  #readReply(bytes: Uint8Array, from: number, to: number, arrivalNs: number): boolean {
    if (to - from === 1 && (bytes[from] === 0x7a || bytes[from] === 0x5a)) {
      this.counts.transmitConfirmations += 1;
      return true;
    }
    const reply = readSlcanReply(bytes, from, to);
    if (reply === null) return false;
    this.counts.otherReplies += 1;
    this.#onReply?.(reply, arrivalNs);
    return true;
  }

  #readFrame(bytes: Uint8Array, from: number, to: number, arrivalNs: number, out: FrameBatch): boolean {
    const flags = FRAME_FLAGS[bytes[from]];
    if (flags === NO_FRAME) return false;
    const extended = (flags & FRAME_EXTENDED) !== 0;
    const lengthAt = from + (extended ? 9 : 4);
    if (lengthAt >= to) return false;
    let id = 0;
    let bad = 0;
    for (let i = from + 1; i < lengthAt; i++) {
      const digit = HEX_DIGIT[bytes[i]];
      bad |= digit;
      id = (id << 4) | digit;
    }
    const dlc = HEX_DIGIT[bytes[lengthAt]];
    if (bad < 0 || dlc < 0 || id < 0 || id > (extended ? 0x1fffffff : 0x7ff)) return false;
    if (dlc > 8 && (flags & FRAME_FD) === 0) return false;
    const dataAt = lengthAt + 1;
    const count = (flags & FRAME_REMOTE) !== 0 ? 0 : FD_LENGTHS[dlc];
    const stampAt = dataAt + 2 * count;
    const stampDigits = to - stampAt;
    if (stampDigits !== 0 && stampDigits !== 4 && stampDigits !== 8) return false;
    let word0 = 0;
    let word1 = 0;
    const short = Math.min(count, 8);
    for (let k = 0; k < short; k++) {
      const high = HEX_DIGIT[bytes[dataAt + 2 * k]];
      const low = HEX_DIGIT[bytes[dataAt + 2 * k + 1]];
      bad |= high | low;
      const byte = (high << 4) | low;
      if (k < 4) word0 |= byte << (24 - 8 * k);
      else word1 |= byte << (56 - 8 * k);
    }
    let stamp = -1;
    if (stampDigits !== 0) {
      stamp = readHex(bytes, stampAt, stampDigits);
      if (stamp < 0) return false;
    }
    if (bad < 0 || (count > 8 && !allHex(bytes, dataAt, stampAt))) return false;
    const row = out.addRow();
    out.arrivalNs[row] = arrivalNs;
    out.id[row] = id;
    out.flags[row] = flags;
    out.dlc[row] = dlc;
    out.byteLength[row] = count;
    out.word0[row] = word0;
    out.word1[row] = word1;
    out.poolStart[row] = count > 8 ? pooled(bytes, dataAt, count, out) : -1;
    this.counts.frames += 1;
    if ((flags & FRAME_FD) !== 0) this.counts.fdFrames += 1;
    this.#stamp(row, stamp, stampDigits, arrivalNs, out);
    return true;
  }

  #stamp(row: number, stamp: number, digits: number, arrivalNs: number, out: FrameBatch): void {
    const periodMs = digits === 8 ? MICRO_STAMP_PERIOD_MS : STAMP_PERIOD_MS;
    const stampMs = digits === 8 ? stamp / 1000 : stamp;
    if (digits === 0 || stampMs >= periodMs) {
      if (digits !== 0) this.counts.badStamps += 1;
      out.stampMs[row] = Number.NaN;
      out.adapterMs[row] = Number.NaN;
    } else {
      this.counts.stampedFrames += 1;
      out.stampMs[row] = stampMs;
      out.adapterMs[row] = this.#unwrap.push(stampMs, arrivalNs, periodMs);
    }
    out.clockSegment[row] = this.#unwrap.segment;
  }
}

const NO_FRAME = 0xff;
/** Flags by command letter: t T r R, and for CAN FD d D (one bit rate) and b B (bit rate switched). */
const FRAME_FLAGS = new Uint8Array(256).fill(NO_FRAME);
for (const [letters, flags] of [
  ["tT", 0],
  ["rR", FRAME_REMOTE],
  ["dD", FRAME_FD],
  ["bB", FRAME_FD],
] as const) {
  FRAME_FLAGS[letters.charCodeAt(0)] = flags;
  FRAME_FLAGS[letters.charCodeAt(1)] = flags | FRAME_EXTENDED;
}

function allHex(bytes: Uint8Array, from: number, to: number): boolean {
  for (let i = from; i < to; i++) if (HEX_DIGIT[bytes[i]] < 0) return false;
  return true;
}

function pooled(bytes: Uint8Array, dataAt: number, count: number, out: FrameBatch): number {
  const start = out.addPool(count);
  for (let k = 0; k < count; k++) out.pool[start + k] = readHex(bytes, dataAt + 2 * k, 2);
  return start;
}
