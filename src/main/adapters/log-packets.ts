/**
 * Two logs as one journal's packets: a packet a line, in arrival order, since the whole second before the first of them. A line that
 * cannot be read throws LogFileError naming file, line and remedy. Stamps that fall back count as arrived with the line before.
 */
import { createHash } from "node:crypto";
import { closeSync, openSync, readSync } from "node:fs";
import { createStampedLogSplitter, type LogLine, LogLineError } from "../../shared/frames/stamped-log.ts";
import type { CanFormat, Packet } from "../../shared/pipeline/packet.ts";
import { createEpochStamper } from "./epoch-stamper.ts";

const CHUNK_BYTES = 256 * 1024;
const US_PER_S = 1e6;
const NS_PER_US = 1e3;

/** A log cannot be used as it stands. */
export class LogFileError extends Error {
  readonly code = "log";
}

export interface LogRequest {
  readonly canFile: string;
  readonly canFormat: CanFormat;
  readonly gnssFile: string;
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
  let handle: number;
  try {
    handle = openSync(file, "r");
  } catch (cause) {
    const why = (cause as { code?: string }).code === "ENOENT" ? "not found" : cause instanceof Error ? cause.message : String(cause);
    throw new LogFileError(`Log ${file}: ${why}; check the path`, { cause });
  }
  try {
    for (;;) {
      const chunk = Buffer.allocUnsafe(CHUNK_BYTES);
      const length = readSync(handle, chunk);
      if (length === 0) return;
      yield chunk.subarray(0, length);
    }
  } catch (cause) {
    if ((cause as { code?: string }).code === "EISDIR") throw new LogFileError(`Log ${file}: a folder, not a file; name the log in it`, { cause });
    throw cause;
  } finally {
    closeSync(handle);
  }
}

/** Lines of one log with their time; `toBytes` makes a packet's bytes of a line, `timeOf` dates a line without a stamp. */
function* linesOf(file: string, end: string, timeOf: (line: LogLine) => number): Generator<StampedLine> {
  const splitter = createStampedLogSplitter();
  const endBytes = Buffer.from(end, "latin1");
  let found: StampedLine[] = [];
  let latestUs = Number.NEGATIVE_INFINITY;
  const take = (line: LogLine) => {
    const utcUs = line.stamped ? line.seconds * US_PER_S + line.micros : timeOf(line);
    latestUs = Math.max(latestUs, utcUs);
    found.push({ utcUs: latestUs, bytes: Buffer.concat([line.rest, endBytes]) });
  };
  try {
    for (const chunk of chunksOf(file)) {
      splitter.push(chunk, take);
      yield* found;
      found = [];
    }
    splitter.flush(take);
    yield* found;
  } catch (cause) {
    if (cause instanceof LogLineError) throw new LogFileError(`Log ${file}: ${cause.message}`, { cause });
    throw cause;
  }
}

function canLines({ canFile, canFormat }: LogRequest): Generator<StampedLine> {
  return linesOf(canFile, canFormat === "slcan" ? "\r" : "\n", (line) => {
    throw new LogFileError(`Log ${canFile}: line ${line.line} has no arrival stamp; expected (sec.micros) before it`);
  });
}

function gnssLines({ gnssFile }: LogRequest): Generator<StampedLine> {
  const stamper = createEpochStamper(() => chunksOf(gnssFile));
  return linesOf(gnssFile, "\r\n", (line) => {
    const utcUs = stamper(line.rest);
    if (utcUs === null) throw new LogFileError(`Log ${gnssFile}: line ${line.line} has no arrival stamp and no dated sentence (RMC, ZDA) tells its time; record with stamps`);
    return utcUs;
  });
}

function* merge(request: LogRequest, baseUtcUs: number): Generator<Packet> {
  const streams = [
    { stream: "gnss" as const, lines: gnssLines(request) },
    { stream: "can" as const, lines: canLines(request) },
  ];
  const heads = streams.map(({ stream, lines }) => ({ stream, lines, next: lines.next() }));
  try {
    for (;;) {
      let first: (typeof heads)[number] | null = null;
      for (const head of heads) {
        if (head.next.done !== true && (first === null || head.next.value.utcUs < (first.next.value as StampedLine).utcUs)) first = head;
      }
      if (first === null) return;
      const { utcUs, bytes } = first.next.value as StampedLine;
      yield { stream: first.stream, arrivalNs: (utcUs - baseUtcUs) * NS_PER_US, bytes };
      first.next = first.lines.next();
    }
  } finally {
    for (const head of heads) head.lines.return(undefined);
  }
}

function firstUtcUs(lines: Generator<StampedLine>): number {
  const { value, done } = lines.next();
  lines.return(undefined);
  return done === true ? Number.POSITIVE_INFINITY : value.utcUs;
}

export function readLogPackets(request: LogRequest): LogPackets {
  const hash = createHash("sha256");
  for (const file of [request.canFile, request.gnssFile]) for (const chunk of chunksOf(file)) hash.update(chunk);
  const earliestUs = Math.min(firstUtcUs(canLines(request)), firstUtcUs(gnssLines(request)));
  if (!Number.isFinite(earliestUs)) throw new LogFileError(`Logs ${request.canFile} and ${request.gnssFile} are empty; nothing to import`);
  // The same whole second that a live recording counts from: an exported recording comes back to the byte.
  const baseUtcUs = Math.floor(earliestUs / US_PER_S) * US_PER_S;
  return { baseUtcUs, packets: merge(request, baseUtcUs), uid: `log-${hash.digest("hex").slice(0, 32)}` };
}
