/** Stores packets of a log, or of a simulated day, as one closed and derived recording. Works in steps, so that a caller may show progress; an error keeps what is stored, underived. */
import type { CanFormat, Packet } from "../../shared/pipeline/packet.ts";
import type { Gate } from "../../shared/run/gate.ts";
import type { Book, Origin } from "../ports/book.ts";
import type { ReadySetUp } from "./read-set-up.ts";
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
}

export interface ImportStep {
  readonly doing: "storing" | "deriving";
  /** Seconds of the recording stored so far. */
  readonly storedS: number;
  /** Of deriving, 0 to 1. */
  readonly derived: number;
}

/** A caller that answers a step with "stop" has what is stored by then closed and derived, as if the log ended there. */
export type ImportSteps<R> = Generator<ImportStep, R, "stop" | undefined>;

export function* importRecording(request: ImportRequest): ImportSteps<Settled & { recording: number }> {
  const { book, ready, gates, packets } = request;
  const { id } = book.startRecording({
    uid: request.uid,
    origin: request.origin,
    baseUtcUs: request.baseUtcUs,
    canFormat: request.canFormat,
    setUp: ready.stored,
  });
  if (request.label !== "") book.append(id, { packets: [], marks: [{ tS: 0, kind: "label", text: request.label }], gaps: [], clock: [] });
  let storedS = 0;
  for (const blocks of gather(packets)) {
    book.transaction(() => {
      for (const block of blocks) book.append(id, { packets: block, marks: [], gaps: [], clock: [] });
    });
    storedS = (blocks.at(-1)?.at(-1)?.arrivalNs ?? 0) / 1e9;
    if ((yield { doing: "storing", storedS, derived: 0 }) === "stop") break;
  }
  book.closeRecording(id, "closed");
  const settling = settleSteps(book, id, { gates, recalibrate: false });
  let step = settling.next();
  for (; step.done !== true; step = settling.next()) yield { doing: "deriving", storedS, derived: step.value };
  return { ...step.value, recording: id };
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
