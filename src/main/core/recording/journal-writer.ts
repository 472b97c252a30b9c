/**
 * Commits what arrives at least every 140 ms. In between it is drafted, so that a killed process loses less. What the book cannot store (full disk)
 * is kept aside block by block, and the book is tried again each second. Where no other place takes it either, it is held in memory; beyond
 * the memory limit the newest bytes are dropped, and the hole is recorded with its cause.
 */
import type { Packet } from "../../../shared/pipeline/packet.ts";
import type { Mark } from "../../../shared/launch/mark.ts";
import { type Book, BookError, type ClockSample, type Gap, type JournalEntry } from "../../ports/book.ts";
import { bytesOf, createJournalBlocks, type JournalBlocks, megabytes } from "./journal-blocks.ts";

/** How often the block that is being filled is written as it stands, without waiting for the drive. */
const DRAFT_NS = 35e6;
const RETRY_NS = 1e9;
const MOST_HELD_BYTES = 64 * 2 ** 20;
/** About a second of what was held: no byte from a port waits longer for the rest. */
const BLOCKS_AT_ONCE = 8;

export interface JournalWriter {
  packet(packet: Packet): void;
  mark(mark: Mark): void;
  gap(gap: Gap): void;
  clock(sample: ClockSample): void;
  /** Commits what is due. Called every few milliseconds. */
  beat(nowNs: number): void;
  /** Commits everything. Throws BookError when it cannot. */
  flush(): void;
  /** Keeps all that `flush` could not commit aside, for the next opening, and gives the file's name. Throws BookError where no place takes it. */
  keepAside(): string;
  /** What is neither in the book nor aside. */
  held(): readonly JournalEntry[];
  /** What the book could not take, whether it is aside or in memory. */
  missing(): Missing;
}

interface Missing {
  readonly bytes: number;
  /** From the first packet to the last. */
  readonly seconds: number;
}

export interface JournalWriterOptions {
  readonly book: Book;
  readonly recording: number;
  /** The problem in one line; null once everything is stored again. */
  readonly onTrouble: (text: string | null) => void;
  readonly mostHeldBytes?: number;
}

const FULL_WORDS = ", but memory is full too: NEW BYTES ARE BEING LOST";
const NOTHING: JournalEntry = { packets: [], marks: [], gaps: [], clock: [] };

/** What was kept aside and is not back yet. */
interface Aside {
  readonly file: string;
  readonly bytes: number;
  /** Null while it has no packet. */
  readonly fromNs: number | null;
  readonly toNs: number;
}

interface Keeper {
  readonly aside: Aside | null;
  /** A few full blocks. True where none was left. Throws BookError where no place takes them. */
  keepSome(ends: boolean): boolean;
  /** A part of it, back into the book; true once nothing is left. */
  takeSomeBack(): boolean;
}

function createKeeper({ book, recording }: JournalWriterOptions, blocks: JournalBlocks): Keeper {
  let aside: Aside | null = null;
  return {
    get aside() {
      return aside;
    },
    keepSome(ends) {
      const some = blocks.full(BLOCKS_AT_ONCE);
      const isLast = ends && some.length < BLOCKS_AT_ONCE;
      if (some.length > 0 || isLast) {
        const file = book.keepAside(recording, isLast ? [...some, NOTHING] : some, isLast);
        const packets = some.flatMap((block) => block.packets);
        aside = {
          file,
          bytes: (aside?.bytes ?? 0) + bytesOf(packets),
          fromNs: aside?.fromNs ?? packets[0]?.arrivalNs ?? null,
          toNs: packets.at(-1)?.arrivalNs ?? aside?.toNs ?? 0,
        };
        blocks.drop(some.length);
      }
      return some.length < BLOCKS_AT_ONCE;
    },
    takeSomeBack() {
      if (aside !== null && !book.takeSomeBack(recording)) return false;
      aside = null;
      return true;
    },
  };
}

export function createJournalWriter(options: JournalWriterOptions): JournalWriter {
  const { book, recording, onTrouble, mostHeldBytes = MOST_HELD_BYTES } = options;
  const blocks = createJournalBlocks(mostHeldBytes);
  const keeper = createKeeper(options, blocks);
  /** How many packets of the oldest block a draft holds. */
  let drafted = 0;
  let draftedNs = Number.NEGATIVE_INFINITY;
  /** Why the book was not written at the last try; null where it was. */
  let trouble: string | null = null;
  let retryAtNs = 0;
  let hasPlace = true;

  /** A part of what is full; true once nothing is left. */
  function commitSome(): boolean {
    if (!keeper.takeSomeBack()) return false;
    const some = blocks.full(BLOCKS_AT_ONCE);
    for (const block of some) {
      book.append(recording, block);
      blocks.drop(1);
      drafted = 0;
    }
    if (some.length === BLOCKS_AT_ONCE) return false;
    if (trouble !== null) onTrouble(null);
    trouble = null;
    return true;
  }

  function draft(nowNs: number): void {
    const { packets } = blocks.filling;
    if (packets.length === drafted || nowNs - draftedNs < DRAFT_NS) return;
    book.draft(recording, packets);
    drafted = packets.length;
    draftedNs = nowNs;
  }

  function tell(): void {
    const { aside } = keeper;
    const inMemory = aside === null || !hasPlace ? `, ${megabytes(blocks.heldBytes)} are held in memory` : "";
    const where =
      aside === null ? "" : ` in ${aside.file} (${megabytes(aside.bytes)}), and the book takes that in as soon as there is room`;
    onTrouble(`${trouble}. Recording goes on${blocks.isDropping ? FULL_WORDS : `${where}${inMemory}`}.`);
  }

  /** Where no place takes it, memory holds it until the next second. */
  function keepSome(): void {
    const before = keeper.aside?.file;
    try {
      keeper.keepSome(false);
      drafted = 0;
    } catch (error) {
      if (!(error instanceof BookError)) throw error;
      hasPlace = false;
    }
    if (keeper.aside?.file !== before) tell();
  }

  function beat(nowNs: number): void {
    blocks.turnWhenDue(nowNs);
    const isDue = blocks.full(1).length > 0;
    if (trouble !== null && nowNs < retryAtNs) {
      if (isDue && hasPlace) keepSome();
      return;
    }
    // One wait for the drive takes along what has come since.
    if (isDue && trouble === null) blocks.turn();
    try {
      if (isDue || trouble !== null) {
        commitSome();
        draftedNs = nowNs;
      } else draft(nowNs);
    } catch (error) {
      if (!(error instanceof BookError)) throw error;
      trouble = error.message;
      retryAtNs = nowNs + RETRY_NS;
      hasPlace = true;
      if (isDue) keepSome();
      tell();
    }
  }

  const held = () => blocks.waiting(drafted);

  return {
    packet(packet) {
      blocks.packet(packet);
      // A process that is rarely let run stores what it has read before it may have to wait again.
      beat(packet.arrivalNs);
    },
    mark: blocks.mark,
    gap: blocks.gap,
    clock: blocks.clock,
    beat,
    flush() {
      blocks.turn();
      while (!commitSome());
    },
    keepAside() {
      while (!keeper.keepSome(true));
      return keeper.aside?.file ?? "";
    },
    held,
    missing() {
      const { aside } = keeper;
      const packets = held().flatMap((block) => block.packets);
      const gapsEndNs = held().flatMap(({ gaps }) => gaps.map(({ toNs }) => toNs));
      const fromNs = aside?.fromNs ?? packets[0]?.arrivalNs ?? 0;
      const toNs = Math.max(aside?.toNs ?? fromNs, packets.at(-1)?.arrivalNs ?? fromNs, ...gapsEndNs);
      return { bytes: (aside?.bytes ?? 0) + bytesOf(packets), seconds: (toNs - fromNs) / 1e9 };
    },
  };
}
