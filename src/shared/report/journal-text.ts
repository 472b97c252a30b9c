/**
 * The journal as text that `import` reads: `(sec.micros) ` + line, stamped with the arrival of the packet that held the line's first byte.
 * Lines are written as they came; empty ones are left out. Text is Latin-1: one character a byte. Bytes of the other stream are skipped;
 * nothing throws.
 */
import { BEL, CR, LF } from "../kernel/ascii.ts";
import { NS_PER_US } from "../kernel/units.ts";
import { createCandumpParser } from "../frames/candump-parser.ts";
import { FrameBatch, FRAME_EXTENDED, FRAME_FD, FRAME_REMOTE } from "../frames/frame-batch.ts";
import { createSlcanParser } from "../frames/slcan-parser.ts";
import type { CanFormat, Packet } from "../pipeline/packet.ts";

/** No parser uses a longer line, and `import` refuses one over 4,096 bytes, so the rest of such a line is not written. */
const LONGEST_WRITTEN = 4000;
const LEADING_STAMP = /^\s*\(\d+(?:\.\d+)?\)\s+/;

/** "(1436509052.249713)": exact, as base and arrival are whole microseconds. */
function stampText(baseUtcUs: number, arrivalNs: number): string {
  const us = baseUtcUs + Math.round(arrivalNs / NS_PER_US);
  const seconds = Math.floor(us / 1e6);
  return `(${seconds}.${String(us - seconds * 1e6).padStart(6, "0")})`;
}

interface Line {
  readonly arrivalNs: number;
  readonly text: string;
  /** False for the bytes after the last line end. */
  readonly ended: boolean;
}

function* linesOf(packets: Iterable<Packet>, stream: Packet["stream"], bellEnds: boolean): Generator<Line> {
  let kept = "";
  let keptNs = 0;
  const isEnd = (byte: number | undefined) => byte === CR || byte === LF || (bellEnds && byte === BEL);
  const keep = (bytes: Uint8Array, from: number, to: number, arrivalNs: number) => {
    if (kept === "") keptNs = arrivalNs;
    const room = Math.max(0, LONGEST_WRITTEN - kept.length);
    kept += String.fromCharCode(...bytes.subarray(from, Math.min(to, from + room)));
  };
  for (const { stream: of, bytes, arrivalNs } of packets) {
    if (of !== stream) continue;
    let from = 0;
    for (let at = 0; at < bytes.length; at += 1) {
      if (!isEnd(bytes[at])) continue;
      if (at > from) keep(bytes, from, at, arrivalNs);
      if (kept !== "") yield { arrivalNs: keptNs, text: kept, ended: true };
      kept = "";
      from = at + 1;
    }
    if (from < bytes.length) keep(bytes, from, bytes.length, arrivalNs);
  }
  if (kept !== "") yield { arrivalNs: keptNs, text: kept, ended: false };
}

/**
 * An unfinished last line was never read as a line. Only its first byte is written: it keeps the recording's end where it was, and no
 * reader takes it for a sentence or a frame.
 */
const written = (line: Line) => (line.ended ? line.text : line.text.slice(0, 1));

function* stamped(baseUtcUs: number, packets: Iterable<Packet>, stream: Packet["stream"], bellEnds: boolean): Generator<string> {
  for (const line of linesOf(packets, stream, bellEnds)) yield `${stampText(baseUtcUs, line.arrivalNs)} ${written(line)}\n`;
}

/** Receiver lines of a recording. `baseUtcUs`: wall clock at base time 0, whole microseconds since 1970. */
export function nmeaText(packets: Iterable<Packet>, baseUtcUs: number): Iterable<string> {
  return stamped(baseUtcUs, packets, "gnss", false);
}

const hex = (value: number, digits: number) => value.toString(16).toUpperCase().padStart(digits, "0");

function dataText(frames: FrameBatch, row: number): string {
  let text = "";
  for (let i = 0; i < frames.byteLength[row]; i += 1) text += hex(frames.byteAt(row, i), 2);
  return text;
}

const hasFlag = (frames: FrameBatch, row: number, flag: number) => (frames.flags[row] & flag) !== 0;

function idText(frames: FrameBatch, row: number): string {
  return hex(frames.id[row], hasFlag(frames, row, FRAME_EXTENDED) ? 8 : 3);
}

/** The log format of can-utils. Of a CAN FD frame's flags only "it is one" is known here; the others are written as 0. */
function candumpLine(frames: FrameBatch, row: number): string {
  const dlc = frames.dlc[row];
  if (hasFlag(frames, row, FRAME_REMOTE)) return `can0 ${idText(frames, row)}#R${dlc === 0 ? "" : dlc}`;
  return `can0 ${idText(frames, row)}${hasFlag(frames, row, FRAME_FD) ? "##0" : "#"}${dataText(frames, row)}`;
}

function slcanLine(frames: FrameBatch, row: number): string {
  const letter = hasFlag(frames, row, FRAME_FD) ? "d" : hasFlag(frames, row, FRAME_REMOTE) ? "r" : "t";
  const kind = hasFlag(frames, row, FRAME_EXTENDED) ? letter.toUpperCase() : letter;
  return `${kind}${idText(frames, row)}${hex(frames.dlc[row], 1)}${dataText(frames, row)}`;
}

function* frameText(
  packets: Iterable<Packet>,
  baseUtcUs: number,
  format: CanFormat,
  write: (frames: FrameBatch, row: number) => string,
): Generator<string> {
  const parser = format === "slcan" ? createSlcanParser() : createCandumpParser();
  const frames = new FrameBatch();
  for (const { stream, bytes, arrivalNs } of packets) {
    if (stream !== "can") continue;
    frames.clear();
    parser.push(bytes, arrivalNs, frames);
    for (let row = 0; row < frames.length; row += 1) yield `${stampText(baseUtcUs, frames.arrivalNs[row])} ${write(frames, row)}\n`;
  }
}

/** Bus lines as candump writes them (can-utils log form). The adapter's own stamps are lost here; only arrival is kept. */
export function* candumpText(packets: Iterable<Packet>, baseUtcUs: number, format: CanFormat): Generator<string> {
  if (format === "slcan") {
    yield* frameText(packets, baseUtcUs, format, candumpLine);
    return;
  }
  for (const line of linesOf(packets, "can", false)) {
    yield `${stampText(baseUtcUs, line.arrivalNs)} ${written({ ...line, text: line.text.replace(LEADING_STAMP, "") })}\n`;
  }
}

/** Bus lines as an adapter sends them, with its stamps where the recording has them. */
export function slcanText(packets: Iterable<Packet>, baseUtcUs: number, format: CanFormat): Iterable<string> {
  return format === "slcan" ? stamped(baseUtcUs, packets, "can", true) : frameText(packets, baseUtcUs, format, slcanLine);
}
