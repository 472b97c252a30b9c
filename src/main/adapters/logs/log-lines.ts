/**
 * A log's lines with their time, a chunk at a time. A line that cannot be read, or without any usable time, throws LogFileError that names
 * file, line and remedy. A last line cut off inside its stamp is left out and reported. Lines beginning with # are comments. A line with an
 * earlier stamp than the one before counts as arrived with it.
 */
import { closeSync, readSync } from "node:fs";
import { createStampedLogSplitter, type LogLine, LogLineError } from "../../../shared/frames/stamped-log.ts";
import { US_PER_S } from "../../../shared/kernel/units.ts";
import type { CanFormat } from "../../../shared/pipeline/packet.ts";
import { openPlainFile } from "../../disk/read-file.ts";
import { createEpochStamper } from "./epoch-stamper.ts";

const CHUNK_BYTES = 256 * 1024;
const COMMENT = 0x23;
/** 2100-01-01: no test day is later, and whole microseconds stay exact up to here. */
const LATEST_S = 4_102_444_800;
const MOST_AHEAD_S = 86_400;

/** The log cannot be used as it is. */
export class LogFileError extends Error {
  readonly code = "log";
}

export interface LogRequest {
  readonly canFile: string;
  readonly canFormat: CanFormat;
  readonly gnssFile: string;
  /** Called with one line for each oddity of a log that can still be used. */
  readonly onNote: (line: string) => void;
}

export interface StampedLine {
  readonly utcUs: number;
  readonly bytes: Uint8Array;
}

export function* chunksOf(file: string): Generator<Buffer> {
  const handle = openPlainFile({ file, what: "Log" });
  try {
    for (;;) {
      const chunk = Buffer.allocUnsafe(CHUNK_BYTES);
      const length = readSync(handle, chunk);
      if (length === 0) return;
      yield chunk.subarray(0, length);
    }
  } finally {
    closeSync(handle);
  }
}

function checkStamp({ line, seconds }: LogLine, latestUs: number): void {
  const aheadS = seconds - latestUs / US_PER_S;
  if (seconds >= LATEST_S)
    throw new LogLineError(line, `its stamp, ${seconds} s, lies beyond the year 2100; correct that line or take it out, and import again`);
  if (Number.isFinite(latestUs) && aheadS > MOST_AHEAD_S)
    throw new LogLineError(
      line,
      `its stamp lies ${(aheadS / MOST_AHEAD_S).toFixed(1)} days after the line before; correct that line, or cut the log there and import both parts`,
    );
}

/** One chunk's lines of a log with their time; `end` is added to each, `timeOf` gives the time of a line without a stamp. */
function* linesOf(file: string, end: string, onNote: LogRequest["onNote"], timeOf: (line: LogLine) => number): Generator<StampedLine[]> {
  const splitter = createStampedLogSplitter();
  const endBytes = Buffer.from(end, "latin1");
  let found: StampedLine[] = [];
  let latestUs = Number.NEGATIVE_INFINITY;
  let toldFall = false;
  // One block of memory for many lines: a buffer for each would take longer than reading the log.
  let room = new Uint8Array(0);
  let used = 0;
  const take = (line: LogLine) => {
    if (!line.stamped && line.rest[0] === COMMENT) return;
    const utcUs = line.stamped ? line.seconds * US_PER_S + line.micros : timeOf(line);
    if (line.stamped) checkStamp(line, latestUs);
    if (!toldFall && line.stamped && utcUs < latestUs - US_PER_S) {
      toldFall = true;
      onNote(
        `Log ${file}: line ${line.line}: its stamp falls back by ${((latestUs - utcUs) / US_PER_S).toFixed(1)} s; what follows counts as arrived with the line before until the stamps catch up: cut the log there and import both parts`,
      );
    }
    latestUs = Math.max(latestUs, utcUs);
    const length = line.rest.length + endBytes.length;
    if (used + length > room.length) {
      room = new Uint8Array(Math.max(CHUNK_BYTES, length));
      used = 0;
    }
    room.set(line.rest, used);
    room.set(endBytes, used + line.rest.length);
    found.push({ utcUs: latestUs, bytes: room.subarray(used, used + length) });
    used += length;
  };
  try {
    for (const chunk of chunksOf(file)) {
      splitter.push(chunk, take);
      if (found.length > 0) yield found;
      found = [];
    }
    try {
      splitter.flush(take);
    } catch (cause) {
      if (!(cause instanceof LogLineError) || latestUs === Number.NEGATIVE_INFINITY) throw cause;
      onNote(`Log ${file}: its last line is cut off and was left out (${cause.message})`);
    }
    if (found.length > 0) yield found;
  } catch (cause) {
    if (cause instanceof LogLineError) throw new LogFileError(`Log ${file}: ${cause.message}`, { cause });
    throw cause;
  }
}

export function canLines({ canFile, canFormat, onNote }: LogRequest): Generator<StampedLine[]> {
  return linesOf(canFile, canFormat === "slcan" ? "\r" : "\n", onNote, (line) => {
    throw new LogFileError(`Log ${canFile}: line ${line.line} has no arrival stamp; expected (sec.micros) before it`);
  });
}

export function gnssLines({ gnssFile, onNote }: LogRequest): Generator<StampedLine[]> {
  const stamper = createEpochStamper(() => chunksOf(gnssFile));
  return linesOf(gnssFile, "\r\n", onNote, (line) => {
    const utcUs = stamper(line.rest);
    if (utcUs === null)
      throw new LogFileError(
        `Log ${gnssFile}: line ${line.line} has no arrival stamp and no dated sentence (RMC, ZDA) tells its time; record with stamps`,
      );
    return utcUs;
  });
}
