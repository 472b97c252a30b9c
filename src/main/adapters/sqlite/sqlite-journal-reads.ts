/** Reads recordings and their journal from the book. A damaged block is named by journalFaults, and reading it throws BookError. */
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";
import type { Mark } from "../../../shared/launch/mark.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import { type Book, BookError, type ClockSample, type Gap, type Recording, type StoredSetUp } from "../../ports/book.ts";
import { MOST_BLOCK_BYTES } from "./giants.ts";
import { decodeBlock } from "./journal-block.ts";
import { orDamaged } from "./run-ids.ts";
import { signalFilesOf } from "./sqlite-hashes.ts";

export type JournalReads = Pick<Book, "recordings" | "recording" | "packets" | "marks" | "gaps" | "clockSamples" | "journalFaults">;

/** Of a recording's last block; 0 without one. One row is looked up: a sum over all may have no end in a made-up book. */
const ofLastBlock = (db: Database, column: "to_ns" | "line_ns" | "block", id: number) =>
  (db.prepare(`SELECT ${column} FROM journal WHERE recording = ? ORDER BY block DESC LIMIT 1`).pluck().get(id) ?? 0) as number;

/** Arrival of a recording's last packet; 0 for none. */
export const lastPacketNs = (db: Database, id: number) => ofLastBlock(db, "to_ns", id);

interface BlockRow {
  block: number;
  from_ns: number;
  to_ns: number;
  gnss_first: number;
  gnss_count: number;
  can_first: number;
  can_count: number;
  crc32: number;
  packets: Buffer;
}

interface RecordingRow {
  id: number;
  uid: string;
  origin: Recording["origin"];
  baseUtcUs: number;
  endNs: number | null;
  state: Recording["state"];
  derived: number;
  canFormat: Recording["canFormat"];
  setUp: number;
}

/** A block longer than any that is written comes back empty, and is damaged then: a made-up one must not fill the memory. */
const SELECT_BLOCK = `SELECT block, from_ns, to_ns, gnss_first, gnss_count, can_first, can_count, line_ns, crc32,
  iif(octet_length(packets) > ${MOST_BLOCK_BYTES}, x'', packets) AS packets FROM journal WHERE recording = ?`;
const NS_PER_S = 1e9;
/** A block has some hundred; a made-up one could have thirty million empty ones. */
const MOST_BLOCK_PACKETS = 1_000_000;
const SELECT_RECORDING = `SELECT recording.id, uid, origin, base_utc_ns / 1000 AS baseUtcUs, end_ns AS endNs, state, derived, can_format AS canFormat,
  set_up AS setUp FROM recording`;

/** When the last line of a recording's journal arrived, ns on its base; 0 for none. */
export const lastLineNs = (db: Database, id: number) => ofLastBlock(db, "line_ns", id);

/** Blocks that are read at once: asking for each alone takes three times as long. A long one ends the batch, so that a made-up book fills no memory. */
const BATCH_BLOCKS = 64;
const BATCH_BYTES = 1_000_000;

interface SoundBlock {
  readonly row: BlockRow;
  readonly packets: readonly Packet[];
}

/**
 * A recording's blocks; a damaged one throws BookError. They are read some at a time without an open cursor: a reader must not delay a
 * checkpoint, nor hold an hour in memory. It ends with the block that was last when it began: that block may still be a draft, and the next one would
 * then follow with a hole.
 */
export function* soundBlocks(db: Database, file: string, id: number): Generator<SoundBlock> {
  const last = ofLastBlock(db, "block", id);
  const next = db.prepare(`${SELECT_BLOCK} AND block > ? AND block <= ? ORDER BY block LIMIT ${BATCH_BLOCKS}`);
  const after = (block: number) => {
    const rows: BlockRow[] = [];
    let bytes = 0;
    for (const row of next.iterate(id, block, last) as IterableIterator<BlockRow>) {
      rows.push(row);
      bytes += row.packets.length;
      if (bytes >= BATCH_BYTES) break;
    }
    return rows;
  };
  let before = -1;
  for (let rows = after(-1); rows.length > 0; rows = after(before)) {
    for (const row of rows) {
      const packets = packetsIn(row);
      if (typeof packets === "string") throw new BookError("damaged", `Book ${file}: recording ${id}, ${packets}; run check on a copy`);
      if (row.block <= before)
        throw new BookError("damaged", `Book ${file}: recording ${id}, its blocks are not in order; run check on a copy`);
      before = row.block;
      yield { row, packets };
    }
  }
}

export function createJournalReads(db: Database, file: string): JournalReads {
  const selectSetUp = db.prepare("SELECT text FROM set_up WHERE id = ?").pluck();

  /** Null where the page that it is on cannot be read, or where it is missing. */
  function readSetUp(id: number): StoredSetUp | null {
    return orDamaged(null, () => {
      const text = selectSetUp.get(id) as string | undefined;
      return text === undefined ? null : { text, signalFiles: signalFilesOf(db, id) };
    });
  }

  /** Read once for all recordings that were made with it. */
  function setUpReader(): (id: number) => StoredSetUp {
    const known = new Map<number, StoredSetUp>();
    return (id) => {
      const setUp = known.get(id) ?? readSetUp(id);
      if (setUp === null)
        throw new BookError("damaged", `Book ${file}: set-up ${id} cannot be read; run rederive with --setup and the right set-up`);
      known.set(id, setUp);
      return setUp;
    };
  }

  /** The set-up is read when it is asked for: a recording whose set-up is damaged is listed all the same. */
  const toRecording = ({ setUp, derived, ...rest }: RecordingRow, read: (id: number) => StoredSetUp): Recording => ({
    ...rest,
    derived: derived === 1,
    get setUp() {
      return read(setUp);
    },
  });

  function recording(id: number): Recording {
    const row = db.prepare(`${SELECT_RECORDING} WHERE id = ?`).get(id) as RecordingRow | undefined;
    if (row === undefined) throw new BookError("notFound", `Book ${file}: no recording ${id}`);
    return toRecording(row, setUpReader());
  }

  function recordings(): Recording[] {
    const read = setUpReader();
    return (db.prepare(`${SELECT_RECORDING} ORDER BY id`).all() as RecordingRow[]).map((row) => toRecording(row, read));
  }

  return {
    recordings,
    recording,
    *packets(id) {
      for (const { packets } of soundBlocks(db, file, id)) yield* packets;
    },
    marks: (id) =>
      (
        db.prepare("SELECT at_ns, kind, text FROM mark WHERE recording = ? ORDER BY at_ns, id").all(id) as {
          at_ns: number;
          kind: Mark["kind"];
          text: string;
        }[]
      ).map(({ at_ns, kind, text }) => ({ tS: at_ns / NS_PER_S, kind, text })),
    gaps: (id) =>
      db.prepare("SELECT stream, from_ns AS fromNs, to_ns AS toNs, cause FROM gap WHERE recording = ? ORDER BY from_ns").all(id) as Gap[],
    clockSamples: (id) =>
      db
        .prepare("SELECT at_ns AS atNs, utc_ns / 1000 AS utcUs FROM clock_sample WHERE recording = ? ORDER BY at_ns")
        .all(id) as ClockSample[],
    journalFaults: (id) => faultsOf(db, recording(id)),
  };
}

function faultsOf(db: Database, { id, state, endNs }: Recording): string[] {
  const faults: string[] = [];
  let expected = { block: 0, gnss: 0, can: 0 };
  const blocks = db.prepare(`${SELECT_BLOCK} ORDER BY block`);
  for (const row of blocks.iterate(id) as IterableIterator<BlockRow>) {
    if (row.block < expected.block) return [...faults, `recording ${id}: its blocks are not in order after block ${expected.block - 1}`];
    if (row.block !== expected.block) faults.push(`recording ${id}: blocks ${expected.block} to ${row.block - 1} are missing`);
    if (row.gnss_first !== expected.gnss)
      faults.push(`recording ${id}, block ${row.block}: gnss packets ${expected.gnss} to ${row.gnss_first - 1} are missing`);
    if (row.can_first !== expected.can)
      faults.push(`recording ${id}, block ${row.block}: can packets ${expected.can} to ${row.can_first - 1} are missing`);
    const packets = packetsIn(row);
    if (typeof packets === "string") faults.push(`recording ${id}, ${packets}`);
    expected = { block: row.block + 1, gnss: row.gnss_first + row.gnss_count, can: row.can_first + row.can_count };
  }
  if (state !== "open" && endNs !== lastLineNs(db, id)) faults.push(`recording ${id}: its journal goes on after its end; run rederive`);
  return faults;
}

/** A block's packets; in words what is wrong with its bytes, where they are not as written. */
function packetsIn(row: BlockRow): readonly Packet[] | string {
  if (crc32(row.packets) !== row.crc32) return `block ${row.block} is damaged: its bytes are not those that were written`;
  const packets: Packet[] = [];
  try {
    for (const packet of decodeBlock(row.packets, row.from_ns)) {
      packets.push(packet);
      if (packets.length > MOST_BLOCK_PACKETS) return `block ${row.block} holds over ${MOST_BLOCK_PACKETS.toLocaleString("en-GB")} packets`;
    }
  } catch (error) {
    if (error instanceof RangeError) return `block ${row.block}: ${error.message}`;
    throw error;
  }
  return packets.length === row.gnss_count + row.can_count
    ? packets
    : `block ${row.block} holds ${packets.length} packets, not ${row.gnss_count + row.can_count}`;
}
