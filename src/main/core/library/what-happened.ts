/**
 * A book's recordings, holes, runs and set-up as lines for somebody who looks for a fault; positions only on request. What cannot be read
 * becomes a line that says so.
 */
import { flagWords } from "../../../shared/run/flag-words.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import { createReceiverReader } from "../../../shared/receiver/receiver-bytes.ts";
import type { Book, Recording } from "../../ports/book.ts";
import { holeLines } from "./hole-lines.ts";
import { lineOf } from "../basics/failure.ts";
import { toldFlags } from "./told-flags.ts";

const seconds = (ns: number) => (ns / 1e9).toFixed(1);

/** First and last position of a recording, as its receiver gave them. */
function places(packets: Iterable<Packet>): string {
  const receiver = createReceiverReader();
  let [first, last] = ["", ""];
  for (const { stream, bytes, arrivalNs } of packets) {
    if (stream !== "gnss") continue;
    receiver.push(bytes, arrivalNs, ({ latDeg, lonDeg }) => {
      if (!Number.isFinite(latDeg) || !Number.isFinite(lonDeg)) return;
      last = `${latDeg.toFixed(6)}, ${lonDeg.toFixed(6)}`;
      if (first === "") first = last;
    });
  }
  return first === "" ? "no position" : `from ${first} to ${last}`;
}

function recordingLines(book: Book, recording: Recording, withPositions: boolean): string[] {
  const { id, origin, state, derived, baseUtcUs, endNs, canFormat } = recording;
  return [
    `Recording ${id}: ${origin}, ${canFormat}, ${state}${derived ? "" : ", not derived"}, since ${new Date(baseUtcUs / 1000).toISOString()}, ${endNs === null ? "open" : `${seconds(endNs)} s`}`,
    ...holeLines(book, id).map((line) => `  ${line}`),
    ...(withPositions ? [`  Positions: ${places(book.packets(id))}`] : []),
  ];
}

/** A line instead, where they cannot be read. */
function recordingsOf(book: Book): readonly Recording[] | string {
  try {
    return book.recordings();
  } catch (error) {
    return `Recordings not readable: ${lineOf(error)}`;
  }
}

function* sections(book: Book, withPositions: boolean): Generator<() => string[]> {
  yield () => {
    const faults = book.integrityFaults();
    return faults.length === 0 ? ["SQLite finds no fault in the file."] : faults.map((fault) => `Fault: ${fault}`);
  };
  const recordings = recordingsOf(book);
  if (typeof recordings === "string") yield () => [recordings];
  else for (const recording of recordings) yield () => recordingLines(book, recording, withPositions);
  yield () => {
    // Those that need the book's other runs too, as every list shows them.
    const told = toldFlags(book);
    return book.runs().map((run) => {
      const { id, recording, final, use } = run;
      const flags = told(run)
        .map(({ flag, why }) => `${flagWords({ flag })} (${why})`)
        .join("; ");
      return `Run ${id} of recording ${recording}${final ? "" : ", provisional"}${use ? "" : ", set aside"}: ${flags === "" ? "no flag" : flags}`;
    });
  };
  const newest = typeof recordings === "string" ? undefined : recordings.at(-1);
  if (newest !== undefined)
    yield () => [
      `Set-up of recording ${newest.id}, with signal files ${newest.setUp.signalFiles.map(({ name }) => name).join(", ") || "none"}:`,
      ...newest.setUp.text.split("\n").map((line) => `  ${line}`),
    ];
}

/** Labels and notes are left out: they are people's own words. */
export function whatHappened(book: Book, withPositions: boolean): string[] {
  const lines: string[] = [];
  for (const section of sections(book, withPositions)) {
    try {
      lines.push(...section());
    } catch (error) {
      lines.push(`Not readable: ${lineOf(error)}`);
    }
  }
  return lines;
}
