/** Writes to a recording's journal: whole commits, and drafts of the block that is still being filled. A recording that must not be written throws BookError. */
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import { BookError, type JournalEntry } from "../../ports/book.ts";
import { encodeBlock } from "./journal-block.ts";
import { advanceLineClock, type LineClock } from "./line-clock.ts";

/** Where the next block of a recording continues that this process writes. */
export interface Tail {
  readonly block: number;
  readonly gnss: number;
  readonly can: number;
  readonly lines: LineClock;
}

export interface JournalWrites {
  /** Gives where the next block continues. */
  append(id: number, tail: Tail, entry: JournalEntry): Tail;
  draft(id: number, tail: Tail, packets: readonly Packet[]): void;
}

const NS_PER_US = 1000n;
const NS_PER_S = 1e9;
const utcNs = (us: number) => BigInt(Math.round(us)) * NS_PER_US;

export function createJournalWrites(db: Database, file: string): JournalWrites {
  const insertBlock = db.prepare("INSERT OR REPLACE INTO journal VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  const insertMark = db.prepare("INSERT INTO mark (recording, at_ns, kind, text) VALUES (?, ?, ?, ?)");
  const insertGap = db.prepare("INSERT INTO gap VALUES (?, ?, ?, ?, ?)");
  const insertClock = db.prepare("INSERT INTO clock_sample VALUES (?, ?, ?)");
  const selectState = db.prepare("SELECT state FROM recording WHERE id = ?").pluck();

  function writable(id: number): void {
    if (selectState.get(id) !== "open")
      throw new BookError("unavailable", `Book ${file}: recording ${id} was closed by another program; start anew`);
  }

  /** In the place of its draft, where there is one. */
  function writeBlock(id: number, tail: Tail, packets: readonly Packet[]): Tail {
    const [first, last] = [packets[0], packets[packets.length - 1]];
    if (first === undefined || last === undefined) return tail;
    const blob = encodeBlock(packets);
    const can = packets.reduce((sum, packet) => sum + (packet.stream === "can" ? 1 : 0), 0);
    const gnss = packets.length - can;
    const lines = advanceLineClock(tail.lines, packets);
    insertBlock.run(id, tail.block, first.arrivalNs, last.arrivalNs, tail.gnss, gnss, tail.can, can, lines.lineNs, crc32(blob), blob);
    return { block: tail.block + 1, gnss: tail.gnss + gnss, can: tail.can + can, lines };
  }

  const append = db.transaction((id: number, tail: Tail, { packets, marks, gaps, clock }: JournalEntry): Tail => {
    writable(id);
    for (const mark of marks) insertMark.run(id, Math.round(mark.tS * NS_PER_S), mark.kind, mark.text);
    for (const gap of gaps) insertGap.run(id, gap.stream, gap.fromNs, gap.toNs, gap.cause);
    for (const sample of clock) insertClock.run(id, sample.atNs, utcNs(sample.utcUs));
    return writeBlock(id, tail, packets);
  });

  const draft = db.transaction((id: number, tail: Tail, packets: readonly Packet[]): void => {
    writable(id);
    writeBlock(id, tail, packets);
  });

  return {
    append,
    draft(id, tail, packets) {
      // Every other commit waits for the drive, and takes this one along (sqlite.org/pragma.html#pragma_synchronous).
      db.pragma("synchronous = NORMAL");
      try {
        draft(id, tail, packets);
      } finally {
        db.pragma("synchronous = FULL");
      }
    },
  };
}
