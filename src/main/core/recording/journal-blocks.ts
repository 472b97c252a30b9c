/**
 * What has arrived and is not stored yet, in blocks of at most 150 ms, oldest first. Beyond the memory limit the newest bytes are dropped and
 * counted, and the hole becomes a block of its own. Never fails.
 */
import type { Mark } from "../../../shared/launch/mark.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { ClockSample, Gap, JournalEntry } from "../../ports/book.ts";

/** Blocks of at most 150 ms are promised. */
const BLOCK_NS = 140e6;

interface Pending {
  packets: Packet[];
  marks: Mark[];
  gaps: Gap[];
  clock: ClockSample[];
}

interface Hole {
  readonly fromNs: number;
  toNs: number;
  bytes: number;
  readonly streams: Set<Packet["stream"]>;
}

export interface JournalBlocks {
  /** The block that is being filled. */
  readonly filling: JournalEntry;
  readonly heldBytes: number;
  readonly isDropping: boolean;
  packet(packet: Packet): void;
  mark(mark: Mark): void;
  gap(gap: Gap): void;
  clock(sample: ClockSample): void;
  /** Ends the block that is being filled where it is due. */
  turnWhenDue(nowNs: number): void;
  /** Ends it, and the hole of what was dropped. */
  turn(): void;
  /** Full blocks, oldest first. */
  full(most: number): readonly JournalEntry[];
  /** All blocks, without the first packets of the oldest, which a draft holds. */
  waiting(drafted: number): readonly JournalEntry[];
  /** The oldest ones are stored. */
  drop(count: number): void;
}

const isEmpty = (block: JournalEntry) => block.packets.length + block.marks.length + block.gaps.length + block.clock.length === 0;
const empty = (): Pending => ({ packets: [], marks: [], gaps: [], clock: [] });

export const megabytes = (bytes: number) => `${(bytes / 2 ** 20).toFixed(1)} MB`;
export const bytesOf = (packets: readonly Packet[]) => packets.reduce((sum, packet) => sum + packet.bytes.length, 0);

function entryOf({ fromNs, toNs, bytes, streams }: Hole): Pending {
  const cause = `the book could not be written and memory was full: ${megabytes(bytes)} lost`;
  return { ...empty(), gaps: [...streams].map((stream) => ({ stream, fromNs, toNs, cause })) };
}

export function createJournalBlocks(mostHeldBytes: number): JournalBlocks {
  const full: Pending[] = [];
  let filling = empty();
  let fromNs: number | null = null;
  let heldBytes = 0;
  let hole: Hole | null = null;

  function turn(): void {
    if (!isEmpty(filling)) full.push(filling);
    filling = empty();
    fromNs = null;
  }

  function endHole(): void {
    if (hole !== null) full.push(entryOf(hole));
    hole = null;
  }

  return {
    get filling() {
      return filling;
    },
    get heldBytes() {
      return heldBytes;
    },
    get isDropping() {
      return hole !== null;
    },
    packet(packet) {
      const { stream, arrivalNs, bytes } = packet;
      if (heldBytes > mostHeldBytes) {
        turn();
        hole ??= { fromNs: arrivalNs, toNs: arrivalNs, bytes: 0, streams: new Set() };
        hole.toNs = arrivalNs;
        hole.bytes += bytes.length;
        hole.streams.add(stream);
        return;
      }
      endHole();
      if (fromNs !== null && arrivalNs - fromNs > BLOCK_NS) turn();
      fromNs ??= arrivalNs;
      heldBytes += bytes.length;
      filling.packets.push(packet);
    },
    mark: (mark) => void filling.marks.push(mark),
    gap: (gap) => void filling.gaps.push(gap),
    clock: (sample) => void filling.clock.push(sample),
    turnWhenDue(nowNs) {
      if (filling.marks.length > 0 || (fromNs !== null && nowNs - fromNs >= BLOCK_NS)) turn();
    },
    turn() {
      turn();
      endHole();
    },
    full: (most) => full.slice(0, most),
    waiting: (drafted) => [...full, filling].map((block, i) => (i === 0 ? { ...block, packets: block.packets.slice(drafted) } : block)),
    drop(count) {
      for (const block of full.splice(0, count)) heldBytes -= bytesOf(block.packets);
    },
  };
}
