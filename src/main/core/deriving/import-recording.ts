/**
 * Stores packets of a log, or of a simulated day, as one closed and derived recording. Works in steps, so that a caller can show progress.
 * After an error, what was stored stays, without runs; importing the same log again continues from there.
 */
import type { CanFormat, Packet } from "../../../shared/pipeline/packet.ts";
import type { LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Book, Origin, Recording } from "../../ports/book.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";
import { byWord, ofWord } from "../../../shared/kernel/by-word.ts";
import { type Settled, settleSteps } from "./settle.ts";

/** Blocks of a log are as long as those of a live journal. Several share a commit, since a log can be read again. */
const BLOCK_NS = 150e6;
const BLOCKS_A_COMMIT = 64;

export interface ImportRequest {
  readonly book: Book;
  readonly ready: ReadySetUp;
  readonly uid: string;
  readonly origin: Origin;
  readonly canFormat: CanFormat;
  /** In order of arrival, `arrivalNs` since `baseUtcUs`. */
  readonly packets: Iterable<Packet>;
  readonly baseUtcUs: number;
  /** Empty: each run is labelled by its switch. */
  readonly label: string;
  readonly gates: readonly Gate[];
  /** Who times the launches; absent: this thread. */
  readonly team?: LaunchTeam;
  /** A recording in which an earlier import of the same log stopped: `packets` then begin after its last one. Absent: a new recording. */
  readonly into?: number;
}

interface ImportStep {
  /** "reading": both logs are read through before anything is stored. */
  readonly doing: "reading" | "storing" | "deriving";
  /** Seconds of the recording stored so far. */
  readonly storedS: number;
  /** Share of deriving that is done, 0 to 1. */
  readonly derived: number;
}

/** A caller that answers a step with "stop" ends the import: what was stored by then is closed and derived, as if the log ended there. */
export type ImportSteps<R> = Generator<ImportStep, R, "stop" | undefined>;

export function* importRecording(request: ImportRequest): ImportSteps<Settled & { recording: number }> {
  const { book, gates, packets, team } = request;
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
  const settling = settleSteps(book, id, { gates, recalibrate: false, team });
  let step = settling.next();
  for (; step.done !== true; step = settling.next()) yield { doing: "deriving", storedS, derived: step.value };
  return { ...step.value, recording: id };
}

/** A new recording; the label, if given, is for all its runs. Both in one commit: without its label it could not be continued. */
function startedFor({ book, ready, label, ...request }: ImportRequest): number {
  return book.transaction(() => {
    const { id } = book.startRecording({
      uid: request.uid,
      origin: request.origin,
      baseUtcUs: request.baseUtcUs,
      canFormat: request.canFormat,
      setUp: ready.stored,
    });
    if (label !== "") book.append(id, { packets: [], marks: [{ tS: 0, kind: "label", text: label }], gaps: [], clock: [] });
    return id;
  });
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
 * The rest of a log whose import was stopped; null where the recording has all of it. Continuing with another set-up or label throws
 * RangeError: one recording has one of each.
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

/**
 * Notes with each run of a recording what it has nothing of under that name: an import that was killed before its end had noted nothing. Gives the number
 * of such runs.
 */
export function noteMissing(book: Book, id: number, conditions: Readonly<Record<string, string | null>>, utcUs: number): number {
  return book.transaction(() => {
    const noted = book.runsOf(id).filter((run) => {
      const missing = Object.entries(conditions).filter(([key, value]) => value !== null && ofWord(run.conditions, key) === undefined);
      if (missing.length > 0) book.setConditions(run.id, byWord(missing), utcUs);
      return missing.length > 0;
    });
    return noted.length;
  });
}

function* chain(first: Packet, rest: Iterator<Packet>): Generator<Packet> {
  yield first;
  for (let next = rest.next(); next.done !== true; next = rest.next()) yield next.value;
}
