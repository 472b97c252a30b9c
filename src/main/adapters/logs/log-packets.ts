/**
 * Two logs as the packets of one journal: one packet a line, in order of arrival, from the whole second before the first line. Both logs
 * are read through before any packet is given. So every error in them, or between them, throws LogFileError while nothing is stored yet.
 */
import { createHash } from "node:crypto";
import { NS_PER_US, US_PER_S } from "../../../shared/kernel/units.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import { canLines, chunksOf, gnssLines, LogFileError, type LogRequest, type StampedLine } from "./log-lines.ts";
import { type LogSpan, spanTrouble } from "./log-spans.ts";
import { lookAtLog } from "./look-at-log.ts";

export interface LogPackets {
  readonly baseUtcUs: number;
  readonly packets: Iterable<Packet>;
  /** Name of this pair of logs: a hash of their bytes. */
  readonly uid: string;
}

interface Head {
  readonly stream: Packet["stream"];
  readonly batches: Generator<StampedLine[]>;
  lines: readonly StampedLine[];
  next: number;
}

/** The next line of this log; null at its end. */
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

/** Reads a log through; each step is a chunk. */
function* spanOf(batches: Generator<StampedLine[]>): Generator<undefined, LogSpan | null> {
  let firstUs: number | null = null;
  let lastUs = 0;
  for (const batch of batches) {
    firstUs ??= batch[0]?.utcUs ?? null;
    lastUs = batch.at(-1)?.utcUs ?? lastUs;
    yield;
  }
  return firstUs === null ? null : { firstUs, lastUs };
}

/** In steps, so that a caller may do other work in between: reading a long log takes a while. */
export function* readLogSteps(request: LogRequest): Generator<undefined, LogPackets, undefined> {
  const { canFile, gnssFile, canFormat, onNote } = request;
  const hash = createHash("sha256");
  for (const file of [canFile, gnssFile]) {
    for (const chunk of chunksOf(file)) {
      hash.update(chunk);
      yield;
    }
  }
  // Messages about a line are given once, in this reading.
  const can = yield* spanOf(canLines(request));
  const gnss = yield* spanOf(gnssLines(request));
  const quiet = { ...request, onNote: () => undefined };
  if (can === null && gnss === null) throw new LogFileError(`Logs ${canFile} and ${gnssFile} are empty; nothing to import`);
  for (const [option, file, kind] of [
    [canFormat === "slcan" ? "--slcan" : "--can", canFile, canFormat],
    ["--gnss", gnssFile, "nmea"],
  ] as const) {
    const found = lookAtLog(kind === "nmea" ? gnssLines(quiet) : canLines(quiet), kind);
    if (found.wrongOption !== null)
      throw new LogFileError(`Log ${file}: given as ${option}, but its lines are ${found.what}; give it as ${found.wrongOption}`);
    if (found.problem !== null) onNote(`Log ${file}: ${found.problem}`);
  }
  if (gnss === null)
    throw new LogFileError(`Log ${gnssFile}: holds no line; without the receiver nothing can be timed: name the log that it wrote`);
  if (can === null) onNote(`Log ${canFile}: holds no line; times rest on the receiver alone`);
  else {
    const trouble = spanTrouble({ file: canFile, ...can }, { file: gnssFile, ...gnss });
    if (trouble?.apart === true) throw new LogFileError(trouble.words);
    if (trouble !== null) onNote(trouble.words);
  }
  // The whole second from which a live recording counts too: an exported recording can be imported again without a difference.
  const baseUtcUs = Math.floor(Math.min(gnss.firstUs, can?.firstUs ?? gnss.firstUs) / US_PER_S) * US_PER_S;
  return { baseUtcUs, packets: merge(quiet, baseUtcUs), uid: `log-${hash.digest("hex").slice(0, 32)}` };
}
