/** Stores packets of a log, or of a simulated day, as one closed and derived recording. Works in steps, so that a caller may show progress; an error keeps what is stored, underived, and importing the log once more goes on from there. */
import type { CanFormat, Packet } from "../../../shared/pipeline/packet.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Book, Origin, Recording } from "../../ports/book.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";
import { type Settled, settleSteps } from "./settle.ts";

/** Blocks of a log as long as those of a live journal; commits are gathered, as a log can be read again. */
const BLOCK_NS = 150e6;
const BLOCKS_A_COMMIT = 64;

export interface ImportRequest {
  readonly book: Book;
  readonly ready: ReadySetUp;
  readonly uid: string;
  readonly origin: Origin;
  readonly canFormat: CanFormat;
  /** In arrival order, `arrivalNs` since `baseUtcUs`. */
  readonly packets: Iterable<Packet>;
  readonly baseUtcUs: number;
  /** Empty: each run is named by its switch. */
  readonly label: string;
  readonly gates: readonly Gate[];
  /** A recording that an earlier import of the same log was stopped in: `packets` then begin after its last. Absent: a new one. */
  readonly into?: number;
}

interface ImportStep {
  /** "reading": logs are looked through before anything is stored. */
  readonly doing: "reading" | "storing" | "deriving";
  /** Seconds of the recording stored so far. */
  readonly storedS: number;
  /** Of deriving, 0 to 1. */
  readonly derived: number;
}

/** A caller that answers a step with "stop" has what is stored by then closed and derived, as if the log ended there. */
export type ImportSteps<R> = Generator<ImportStep, R, "stop" | undefined>;

export function* importRecording(request: ImportRequest): ImportSteps<Settled & { recording: number }> {
  const { book, gates, packets } = request;
  const id = request.into ?? startedFor(request);
  if (request.into !== undefined) book.reopenRecording(id);
  let storedS = 0;
  for (const blocks of gather(packets)) {
    book.transaction(() => {
      for (const block of blocks) book.append(id, { packets: block, marks: [], gaps: [], clock: [] });
    });
    storedS = (blocks.at(-1)?.at(-1)?.arrivalNs ?? 0) / 1e9;
    if ((yield { doing: "storing", storedS, derived: 0 }) === "stop") break;
  }
  book.closeRecording(id, "closed");
  // What was fitted to a part is fitted to the whole.
  const settling = settleSteps(book, id, { gates, recalibrate: request.into !== undefined });
  let step = settling.next();
  for (; step.done !== true; step = settling.next()) yield { doing: "deriving", storedS, derived: step.value };
  return { ...step.value, recording: id };
}

/** A new recording with the label of all its runs, if there is one. */
function startedFor({ book, ready, label, ...request }: ImportRequest): number {
  const { id } = book.startRecording({
    uid: request.uid,
    origin: request.origin,
    baseUtcUs: request.baseUtcUs,
    canFormat: request.canFormat,
    setUp: ready.stored,
  });
  if (label !== "") book.append(id, { packets: [], marks: [{ tS: 0, kind: "label", text: label }], gaps: [], clock: [] });
  return id;
}

function* gather(packets: Iterable<Packet>): Generator<Packet[][]> {
  let blocks: Packet[][] = [];
  let block: Packet[] = [];
  let blockEndNs = Number.NEGATIVE_INFINITY;
  for (const packet of packets) {
    if (packet.arrivalNs > blockEndNs && block.length > 0) {
      blocks.push(block);
      block = [];
      if (blocks.length === BLOCKS_A_COMMIT) {
        yield blocks;
        blocks = [];
      }
    }
    if (block.length === 0) blockEndNs = packet.arrivalNs + BLOCK_NS;
    block.push(packet);
  }
  if (block.length > 0) blocks.push(block);
  if (blocks.length > 0) yield blocks;
}

/**
 * What is left of a log after a recording that an import of it was stopped in; null where the recording holds it whole.
 * Going on with another set-up or label throws RangeError: one recording has one of each.
 */
export function restOf(
  book: Book,
  known: Recording,
  { ready, label, packets }: Pick<ImportRequest, "ready" | "label" | "packets">,
): Iterable<Packet> | null {
  const rest = packets[Symbol.iterator]();
  for (const _stored of book.packets(known.id)) rest.next();
  const first = rest.next();
  if (first.done === true) return null;
  const begunAs = book.marks(known.id).find((mark) => mark.kind === "label")?.text ?? "";
  const other = JSON.stringify(known.setUp) !== JSON.stringify(ready.stored) ? "set-up" : begunAs === label ? null : "label";
  if (other !== null)
    throw new RangeError(
      `Recording ${known.id} holds the first part of these logs with another ${other}: give that one to go on, or name another book`,
    );
  return chain(first.value, rest);
}

function* chain(first: Packet, rest: Iterator<Packet>): Generator<Packet> {
  yield first;
  for (let next = rest.next(); next.done !== true; next = rest.next()) yield next.value;
}
