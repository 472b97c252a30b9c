/**
 * Two logs as one journal's packets: a packet a line, in arrival order, since the whole second before the first of them. A line that
 * cannot be read throws LogFileError naming file, line and remedy; a last line cut off within its stamp is left out and told.
 * Lines beginning with # are comments. Stamps that fall back count as arrived with the line before.
 */
import { NS_PER_US, US_PER_S } from "../../../shared/kernel/units.ts";
import { createHash } from "node:crypto";
import { closeSync, readSync } from "node:fs";
import { createStampedLogSplitter, type LogLine, LogLineError } from "../../../shared/frames/stamped-log.ts";
import type { CanFormat, Packet } from "../../../shared/pipeline/packet.ts";
import { openPlainFile } from "../../disk/read-file.ts";
import { createEpochStamper } from "./epoch-stamper.ts";
import { lookAtLog } from "./look-at-log.ts";

const CHUNK_BYTES = 256 * 1024;
const COMMENT = 0x23;

/** A log cannot be used as it stands. */
class LogFileError extends Error {
  readonly code = "log";
}

export interface LogRequest {
  readonly canFile: string;
  readonly canFormat: CanFormat;
  readonly gnssFile: string;
  /** Hears, a line each, what is odd about the logs though they can be used. */
  readonly onNote: (line: string) => void;
}

export interface LogPackets {
  readonly baseUtcUs: number;
  readonly packets: Iterable<Packet>;
  /** Name of this pair of logs: a hash over their bytes. */
  readonly uid: string;
}

interface StampedLine {
  readonly utcUs: number;
  readonly bytes: Uint8Array;
}

function* chunksOf(file: string): Generator<Buffer> {
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

/** A chunk's lines of one log with their time; `end` is put after each, `timeOf` dates a line without a stamp. */
function* linesOf(file: string, end: string, onNote: LogRequest["onNote"], timeOf: (line: LogLine) => number): Generator<StampedLine[]> {
  const splitter = createStampedLogSplitter();
  const endBytes = Buffer.from(end, "latin1");
  let found: StampedLine[] = [];
  let latestUs = Number.NEGATIVE_INFINITY;
  let toldFall = false;
  // One block of memory for many lines: a buffer for each would cost more than reading it.
  let room = new Uint8Array(0);
  let used = 0;
  const take = (line: LogLine) => {
    if (!line.stamped && line.rest[0] === COMMENT) return;
    const utcUs = line.stamped ? line.seconds * US_PER_S + line.micros : timeOf(line);
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

function canLines({ canFile, canFormat, onNote }: LogRequest): Generator<StampedLine[]> {
  return linesOf(canFile, canFormat === "slcan" ? "\r" : "\n", onNote, (line) => {
    throw new LogFileError(`Log ${canFile}: line ${line.line} has no arrival stamp; expected (sec.micros) before it`);
  });
}

function gnssLines({ gnssFile, onNote }: LogRequest): Generator<StampedLine[]> {
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

interface Head {
  readonly stream: Packet["stream"];
  readonly batches: Generator<StampedLine[]>;
  lines: readonly StampedLine[];
  next: number;
}

/** The head's next line; null at its end. */
function peek(head: Head): StampedLine | null {
  if (head.next < head.lines.length) return head.lines[head.next] as StampedLine;
  const { value, done } = head.batches.next();
  if (done === true) return null;
  head.lines = value;
  head.next = 0;
  return value[0] ?? null;
}

function* merge(request: LogRequest, baseUtcUs: number): Generator<Packet> {
  const gnss: Head = { stream: "gnss", batches: gnssLines(request), lines: [], next: 0 };
  const can: Head = { stream: "can", batches: canLines(request), lines: [], next: 0 };
  try {
    for (;;) {
      const [receiver, bus] = [peek(gnss), peek(can)];
      const head = bus === null || (receiver !== null && receiver.utcUs <= bus.utcUs) ? gnss : can;
      const line = head === gnss ? receiver : bus;
      if (line === null) return;
      head.next += 1;
      yield { stream: head.stream, arrivalNs: (line.utcUs - baseUtcUs) * NS_PER_US, bytes: line.bytes };
    }
  } finally {
    gnss.batches.return(undefined);
    can.batches.return(undefined);
  }
}

function firstUtcUs(batches: Generator<StampedLine[]>): number {
  const { value, done } = batches.next();
  batches.return(undefined);
  return done === true ? Number.POSITIVE_INFINITY : (value[0] as StampedLine).utcUs;
}

export function readLogPackets(request: LogRequest): LogPackets {
  const hash = createHash("sha256");
  for (const file of [request.canFile, request.gnssFile]) for (const chunk of chunksOf(file)) hash.update(chunk);
  // A first look stays silent: the walk itself tells.
  const quiet = { ...request, onNote: () => undefined };
  const earliestUs = Math.min(firstUtcUs(canLines(quiet)), firstUtcUs(gnssLines(quiet)));
  if (!Number.isFinite(earliestUs)) throw new LogFileError(`Logs ${request.canFile} and ${request.gnssFile} are empty; nothing to import`);
  for (const [option, file, kind] of [
    [request.canFormat === "slcan" ? "--slcan" : "--can", request.canFile, request.canFormat],
    ["--gnss", request.gnssFile, "nmea"],
  ] as const) {
    const found = lookAtLog(kind === "nmea" ? gnssLines(quiet) : canLines(quiet), kind);
    if (found.wrongOption !== null)
      throw new LogFileError(`Log ${file}: given as ${option}, but its lines are ${found.what}; give it as ${found.wrongOption}`);
    if (found.problem !== null) request.onNote(`Log ${file}: ${found.problem}`);
  }
  // The same whole second that a live recording counts from: an exported recording comes back to the byte.
  const baseUtcUs = Math.floor(earliestUs / US_PER_S) * US_PER_S;
  return { baseUtcUs, packets: merge(request, baseUtcUs), uid: `log-${hash.digest("hex").slice(0, 32)}` };
}
