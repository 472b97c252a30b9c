/**
 * Gathers what arrives and commits it at least every 140 ms. When the book cannot take it (full disk), everything is held in
 * memory and tried again each second; past the limit the newest bytes are dropped and the hole is recorded with its cause.
 */
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { Mark } from "../../../shared/launch/mark.ts";
import { type Book, BookError, type ClockSample, type Gap, type JournalEntry } from "../../ports/book.ts";

/** Blocks of at most 150 ms are promised. */
const BLOCK_NS = 140e6;
const RETRY_NS = 1e9;
const MOST_HELD_BYTES = 64 * 2 ** 20;

export interface JournalWriter {
  packet(packet: Packet): void;
  mark(mark: Mark): void;
  gap(gap: Gap): void;
  clock(sample: ClockSample): void;
  /** Commits what is due. Called every few milliseconds. */
  beat(nowNs: number): void;
  /** Commits everything. Throws BookError when it cannot. */
  flush(): void;
  /** What the book has not taken, the hole of what memory could not hold at its end. */
  held(): Held;
}

export interface Held {
  readonly entries: readonly JournalEntry[];
  readonly bytes: number;
  /** From the first packet to the last, a hole at the end with it. */
  readonly seconds: number;
}

interface Pending {
  packets: Packet[];
  marks: Mark[];
  gaps: Gap[];
  clock: ClockSample[];
}

const empty = (): Pending => ({ packets: [], marks: [], gaps: [], clock: [] });

export interface JournalWriterOptions {
  readonly book: Book;
  readonly recording: number;
  /** The trouble in one line; null once all is stored again. */
  readonly onTrouble: (text: string | null) => void;
  readonly mostHeldBytes?: number;
}

export function createJournalWriter({ book, recording, onTrouble, mostHeldBytes = MOST_HELD_BYTES }: JournalWriterOptions): JournalWriter {
  /** Filled blocks first, the one being filled last. */
  const blocks: Pending[] = [empty()];
  let blockFromNs: number | null = null;
  let heldBytes = 0;
  let retryAtNs = 0;
  let troubled = false;
  let dropped: { fromNs: number; toNs: number; streams: Set<Packet["stream"]> } | null = null;

  const last = () => blocks[blocks.length - 1] as Pending;
  const isEmpty = (block: Pending) => block.packets.length + block.marks.length + block.gaps.length + block.clock.length === 0;

  /** What memory could not hold, as an entry of its own; none where nothing was dropped. */
  function holes(): JournalEntry[] {
    if (dropped === null) return [];
    const { fromNs, toNs, streams } = dropped;
    const cause = "the book could not be written and memory was full";
    return [{ packets: [], marks: [], clock: [], gaps: [...streams].map((stream) => ({ stream, fromNs, toNs, cause })) }];
  }

  function turn(): void {
    if (!isEmpty(last())) blocks.push(empty());
    blockFromNs = null;
  }

  function commit(): void {
    while (blocks.length > 1 || !isEmpty(blocks[0] as Pending)) {
      const block = blocks[0] as Pending;
      book.append(recording, block);
      for (const packet of block.packets) heldBytes -= packet.bytes.length;
      blocks.shift();
      if (blocks.length === 0) blocks.push(empty());
    }
    for (const hole of holes()) book.append(recording, hole);
    dropped = null;
    if (troubled) onTrouble(null);
    troubled = false;
  }

  return {
    packet(packet) {
      if (heldBytes > mostHeldBytes) {
        dropped ??= { fromNs: packet.arrivalNs, toNs: packet.arrivalNs, streams: new Set() };
        dropped.toNs = packet.arrivalNs;
        dropped.streams.add(packet.stream);
        return;
      }
      if (blockFromNs !== null && packet.arrivalNs - blockFromNs > BLOCK_NS) turn();
      blockFromNs ??= packet.arrivalNs;
      heldBytes += packet.bytes.length;
      last().packets.push(packet);
    },
    mark(mark) {
      last().marks.push(mark);
    },
    gap(gap) {
      last().gaps.push(gap);
    },
    clock(sample) {
      last().clock.push(sample);
    },
    beat(nowNs) {
      const due = blocks.length > 1 || last().marks.length > 0 || (blockFromNs !== null && nowNs - blockFromNs >= BLOCK_NS);
      if (!due || (troubled && nowNs < retryAtNs)) return;
      turn();
      try {
        commit();
      } catch (error) {
        if (!(error instanceof BookError)) throw error;
        troubled = true;
        retryAtNs = nowNs + RETRY_NS;
        const held = `${(heldBytes / 2 ** 20).toFixed(1)} MB are held in memory`;
        onTrouble(`${error.message}. Recording goes on, ${dropped === null ? held : "but memory is full too: NEW BYTES ARE BEING LOST"}.`);
      }
    },
    flush() {
      turn();
      commit();
    },
    held() {
      const entries = [...blocks.filter((block) => !isEmpty(block)), ...holes()];
      const packets = entries.flatMap((entry) => entry.packets);
      const [first, last] = [packets[0], packets.at(-1)];
      const fromNs = first?.arrivalNs ?? dropped?.fromNs ?? 0;
      return { entries, bytes: heldBytes, seconds: ((dropped?.toNs ?? last?.arrivalNs ?? fromNs) - fromNs) / 1e9 };
    },
  };
}
