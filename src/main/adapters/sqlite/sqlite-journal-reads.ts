/** Recordings and their journal as they stand in the book. A spoiled block is named by journalFaults, and reading it throws BookError. */
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";
import type { Mark } from "../../../shared/launch/mark.ts";
import { type Book, BookError, type ClockSample, type Gap, type Recording } from "../../ports/book.ts";
import { decodeBlock } from "./journal-block.ts";
import { signalFilesOf } from "./sqlite-hashes.ts";

export type JournalReads = Pick<Book, "recordings" | "recording" | "packets" | "marks" | "gaps" | "clockSamples" | "journalFaults">;

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
  text: string;
}

const NS_PER_S = 1e9;
const SELECT_RECORDING = `SELECT recording.id, uid, origin, base_utc_ns / 1000 AS baseUtcUs, end_ns AS endNs, state, derived, can_format AS canFormat,
  set_up AS setUp, set_up.text AS text FROM recording JOIN set_up ON set_up.id = recording.set_up`;

/** When the last line of a recording's journal came, ns on its base; 0 for none. */
export function lastLineNs(db: Database, id: number): number {
  return db.prepare("SELECT coalesce(max(line_ns), 0) FROM journal WHERE recording = ?").pluck().get(id) as number;
}

/**
 * A recording's blocks, none of them spoiled: that throws BookError. They are read one by one, not by an open cursor: a reader must not hold back a
 * checkpoint, nor keep an hour in memory.
 */
export function* soundBlocks(db: Database, file: string, id: number): Generator<BlockRow> {
  const next = db.prepare("SELECT * FROM journal WHERE recording = ? AND block > ? ORDER BY block LIMIT 1");
  for (let row = next.get(id, -1) as BlockRow | undefined; row !== undefined; row = next.get(id, row.block) as BlockRow | undefined) {
    const wrong = blockFault(row);
    if (wrong !== null) throw new BookError("damaged", `Book ${file}: recording ${id}, ${wrong}; run check on a copy`);
    yield row;
  }
}

export function createJournalReads(db: Database, file: string): JournalReads {
  function toRecording(row: RecordingRow): Recording {
    const { setUp, text, derived, ...rest } = row;
    return { ...rest, derived: derived === 1, setUp: { text, signalFiles: signalFilesOf(db, setUp) } };
  }

  function recording(id: number): Recording {
    const row = db.prepare(`${SELECT_RECORDING} WHERE recording.id = ?`).get(id) as RecordingRow | undefined;
    if (row === undefined) throw new BookError("notFound", `Book ${file}: no recording ${id}`);
    return toRecording(row);
  }

  return {
    recordings: () => (db.prepare(`${SELECT_RECORDING} ORDER BY recording.id`).all() as RecordingRow[]).map(toRecording),
    recording,
    *packets(id) {
      for (const row of soundBlocks(db, file, id)) yield* decodeBlock(row.packets, row.from_ns);
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
  const blocks = db.prepare("SELECT * FROM journal WHERE recording = ? ORDER BY block");
  for (const row of blocks.iterate(id) as IterableIterator<BlockRow>) {
    if (row.block !== expected.block) faults.push(`recording ${id}: blocks ${expected.block} to ${row.block - 1} are missing`);
    if (row.gnss_first !== expected.gnss)
      faults.push(`recording ${id}, block ${row.block}: gnss packets ${expected.gnss} to ${row.gnss_first - 1} are missing`);
    if (row.can_first !== expected.can)
      faults.push(`recording ${id}, block ${row.block}: can packets ${expected.can} to ${row.can_first - 1} are missing`);
    const wrong = blockFault(row);
    if (wrong !== null) faults.push(`recording ${id}, ${wrong}`);
    expected = { block: row.block + 1, gnss: row.gnss_first + row.gnss_count, can: row.can_first + row.can_count };
  }
  if (state !== "open" && endNs !== lastLineNs(db, id)) faults.push(`recording ${id}: its journal goes on after its end; run rederive`);
  return faults;
}

/** What is wrong with a block's bytes; null when they are as written. */
function blockFault(row: BlockRow): string | null {
  if (crc32(row.packets) !== row.crc32) return `block ${row.block} is spoiled: its bytes are not those that were written`;
  try {
    let packets = 0;
    for (const _packet of decodeBlock(row.packets, row.from_ns)) packets += 1;
    return packets === row.gnss_count + row.can_count
      ? null
      : `block ${row.block} holds ${packets} packets, not ${row.gnss_count + row.can_count}`;
  } catch (error) {
    if (error instanceof RangeError) return `block ${row.block}: ${error.message}`;
    throw error;
  }
}
