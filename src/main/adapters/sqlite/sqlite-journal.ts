/** Recordings and their journal in the book: blocks with hole-free sequence numbers a stream. A spoiled block is named by journalFaults, and reading it throws BookError. */
import { rmSync } from "node:fs";
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";
import type { Mark } from "../../../shared/launch/mark.ts";
import {
  type Book,
  BookError,
  type ClockSample,
  type Gap,
  type JournalEntry,
  type Recording,
  type RecordingStart,
  type StoredSetUp,
} from "../../ports/book.ts";
import { findAside, keepAside } from "./held-aside.ts";
import { decodeBlock, encodeBlock } from "./journal-block.ts";
import { setUpHash, signalFilesOf } from "./sqlite-hashes.ts";
import type { KeepEdit } from "./sqlite-settings.ts";
import type { Seals } from "./sqlite-seals.ts";
import { advanceLineClock, type LineClock, NO_LINES } from "./line-clock.ts";

type JournalPart = Pick<
  Book,
  | "startRecording"
  | "reopenRecording"
  | "append"
  | "closeRecording"
  | "keepAside"
  | "takeBack"
  | "recordings"
  | "recording"
  | "packets"
  | "marks"
  | "gaps"
  | "clockSamples"
  | "journalFaults"
  | "alignEnd"
  | "replaceSetUp"
  | "markDerived"
>;

/** Where the next block of a recording that this process writes continues. */
interface Tail {
  readonly block: number;
  readonly gnss: number;
  readonly can: number;
  readonly lines: LineClock;
}

/** By recording. */
export type Tails = Map<number, Tail>;

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

const NS_PER_US = 1000n;
const NS_PER_S = 1e9;
const utcNs = (us: number) => BigInt(Math.round(us)) * NS_PER_US;
const SELECT_RECORDING = `SELECT recording.id, uid, origin, base_utc_ns / 1000 AS baseUtcUs, end_ns AS endNs, state, derived, can_format AS canFormat,
  set_up AS setUp, set_up.text AS text FROM recording JOIN set_up ON set_up.id = recording.set_up`;

/** `tails` outlives the connection: a book that goes on in another file goes on with the next number. */
export function createJournalPart(db: Database, file: string, seals: Seals, keepEdit: KeepEdit, tails: Tails): JournalPart {
  const insertBlock = db.prepare("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  const insertMark = db.prepare("INSERT INTO mark (recording, at_ns, kind, text) VALUES (?, ?, ?, ?)");
  const insertGap = db.prepare("INSERT INTO gap VALUES (?, ?, ?, ?, ?)");
  const insertClock = db.prepare("INSERT INTO clock_sample VALUES (?, ?, ?)");
  const selectState = db.prepare("SELECT state FROM recording WHERE id = ?").pluck();
  const selectEnd = db.prepare("SELECT coalesce(max(line_ns), 0) FROM journal WHERE recording = ?").pluck();
  const selectBlocks = db.prepare("SELECT * FROM journal WHERE recording = ? ORDER BY block");

  /** One row for each set-up that differs: recordings of a day share theirs. */
  function storeSetUp({ text, signalFiles }: StoredSetUp): number {
    const sha256 = setUpHash(text, signalFiles);
    const known = db.prepare("SELECT id, text FROM set_up WHERE sha256 = ?").get(sha256) as { id: number; text: string } | undefined;
    if (known !== undefined && setUpHash(known.text, signalFilesOf(db, known.id)) === sha256) return known.id;
    // A spoiled one is written anew in its place.
    if (known !== undefined) db.prepare("DELETE FROM signal_file WHERE set_up = ?").run(known.id);
    const { id } = db
      .prepare("INSERT INTO set_up (sha256, text) VALUES (?, ?) ON CONFLICT (sha256) DO UPDATE SET text = excluded.text RETURNING id")
      .get(sha256, text) as { id: number };
    const insert = db.prepare("INSERT INTO signal_file VALUES (?, ?, ?, ?)");
    signalFiles.forEach((signalFile, position) => {
      insert.run(id, position, signalFile.name, signalFile.text);
    });
    return id;
  }

  function toRecording(row: RecordingRow): Recording {
    const { setUp, text, derived, ...rest } = row;
    return { ...rest, derived: derived === 1, setUp: { text, signalFiles: signalFilesOf(db, setUp) } };
  }

  function recording(id: number): Recording {
    const row = db.prepare(`${SELECT_RECORDING} WHERE recording.id = ?`).get(id) as RecordingRow | undefined;
    if (row === undefined) throw new BookError("notFound", `Book ${file}: no recording ${id}`);
    return toRecording(row);
  }

  const append = db.transaction((id: number, tail: Tail, { packets, marks, gaps, clock }: JournalEntry): Tail => {
    if (selectState.get(id) !== "open")
      throw new BookError("unavailable", `Book ${file}: recording ${id} was closed by another program; start anew`);
    for (const mark of marks) insertMark.run(id, Math.round(mark.tS * NS_PER_S), mark.kind, mark.text);
    for (const gap of gaps) insertGap.run(id, gap.stream, gap.fromNs, gap.toNs, gap.cause);
    for (const sample of clock) insertClock.run(id, sample.atNs, utcNs(sample.utcUs));
    const [first, last] = [packets[0], packets[packets.length - 1]];
    if (first === undefined || last === undefined) return tail;
    const blob = encodeBlock(packets);
    const can = packets.reduce((sum, packet) => sum + (packet.stream === "can" ? 1 : 0), 0);
    const gnss = packets.length - can;
    const lines = advanceLineClock(tail.lines, packets);
    insertBlock.run(id, tail.block, first.arrivalNs, last.arrivalNs, tail.gnss, gnss, tail.can, can, lines.lineNs, crc32(blob), blob);
    return { block: tail.block + 1, gnss: tail.gnss + gnss, can: tail.can + can, lines };
  });

  /** What changes while bytes come is sealed at the end. */
  const close = db.transaction((id: number, state: "closed" | "interrupted") => {
    const { changes } = db
      .prepare("UPDATE recording SET state = ?, end_ns = ? WHERE id = ? AND state = 'open'")
      .run(state, selectEnd.get(id), id);
    if (changes === 0) return;
    for (const what of ["recording", "journal", "marks", "gaps", "clock"] as const) seals.seal(what, id);
  });

  function reopen(id: number): void {
    let tail: Tail = { block: 0, gnss: 0, can: 0, lines: NO_LINES };
    for (const row of selectBlocks.iterate(id) as IterableIterator<BlockRow>) {
      const wrong = blockFault(row);
      if (wrong !== null) throw new BookError("damaged", `Book ${file}: recording ${id}, ${wrong}; run check on a copy`);
      const lines = advanceLineClock(tail.lines, [...decodeBlock(row.packets, row.from_ns)]);
      tail = { block: row.block + 1, gnss: row.gnss_first + row.gnss_count, can: row.can_first + row.can_count, lines };
    }
    db.prepare("UPDATE recording SET state = 'open', end_ns = NULL, derived = 0 WHERE id = ?").run(id);
    tails.set(id, tail);
  }

  return {
    startRecording: db.transaction((start: RecordingStart): Recording => {
      const { lastInsertRowid } = db
        .prepare("INSERT INTO recording (uid, origin, base_utc_ns, state, can_format, set_up) VALUES (?, ?, ?, 'open', ?, ?)")
        .run(start.uid, start.origin, utcNs(start.baseUtcUs), start.canFormat, storeSetUp(start.setUp));
      const id = Number(lastInsertRowid);
      tails.set(id, { block: 0, gnss: 0, can: 0, lines: NO_LINES });
      return recording(id);
    }),
    reopenRecording: reopen,
    append(id, entry) {
      const tail = tails.get(id);
      if (tail === undefined) throw new BookError("notFound", `Book ${file}: recording ${id} is not open for writing`);
      // Numbers move on only with the commit: a second try after a full disk leaves no hole.
      tails.set(id, append(id, tail, entry));
    },
    closeRecording(id, state) {
      close(id, state);
      tails.delete(id);
    },
    keepAside: (id, entries) => keepAside(file, recording(id).uid, entries),
    takeBack(id) {
      const aside = findAside(file, recording(id).uid);
      if (aside === null) return null;
      db.transaction(() => {
        reopen(id);
        for (const entry of aside.entries) tails.set(id, append(id, tails.get(id) as Tail, entry));
        close(id, "closed");
      })();
      tails.delete(id);
      rmSync(aside.file);
      return aside.file;
    },
    recordings: () => (db.prepare(`${SELECT_RECORDING} ORDER BY recording.id`).all() as RecordingRow[]).map(toRecording),
    recording,
    *packets(id) {
      // Blocks are read one by one, not by an open cursor: a reader must not hold back a checkpoint, nor keep an hour in memory.
      const next = db.prepare("SELECT * FROM journal WHERE recording = ? AND block > ? ORDER BY block LIMIT 1");
      for (let row = next.get(id, -1) as BlockRow | undefined; row !== undefined; row = next.get(id, row.block) as BlockRow | undefined) {
        const wrong = blockFault(row);
        if (wrong !== null) throw new BookError("damaged", `Book ${file}: recording ${id}, ${wrong}; run check on a copy`);
        yield* decodeBlock(row.packets, row.from_ns);
      }
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
    journalFaults(id) {
      const faults: string[] = [];
      let expected = { block: 0, gnss: 0, can: 0 };
      for (const row of selectBlocks.iterate(id) as IterableIterator<BlockRow>) {
        if (row.block !== expected.block) faults.push(`recording ${id}: blocks ${expected.block} to ${row.block - 1} are missing`);
        if (row.gnss_first !== expected.gnss)
          faults.push(`recording ${id}, block ${row.block}: gnss packets ${expected.gnss} to ${row.gnss_first - 1} are missing`);
        if (row.can_first !== expected.can)
          faults.push(`recording ${id}, block ${row.block}: can packets ${expected.can} to ${row.can_first - 1} are missing`);
        const wrong = blockFault(row);
        if (wrong !== null) faults.push(`recording ${id}, ${wrong}`);
        expected = { block: row.block + 1, gnss: row.gnss_first + row.gnss_count, can: row.can_first + row.can_count };
      }
      const { state, endNs } = recording(id);
      if (state !== "open" && endNs !== selectEnd.get(id)) faults.push(`recording ${id}: its journal goes on after its end; run rederive`);
      return faults;
    },
    alignEnd: db.transaction((id: number) => {
      const { state, endNs } = recording(id);
      if (state === "open" || endNs === selectEnd.get(id)) return;
      db.prepare("UPDATE recording SET end_ns = ? WHERE id = ?").run(selectEnd.get(id), id);
      seals.seal("recording", id);
    }),
    replaceSetUp: db.transaction((id: number, setUp: StoredSetUp, utcUs: number) => {
      const before = db.prepare("SELECT set_up FROM recording WHERE id = ?").pluck().get(id) as number;
      const after = storeSetUp(setUp);
      if (before === after) return;
      db.prepare("UPDATE recording SET set_up = ? WHERE id = ?").run(after, id);
      keepEdit(null, `set-up of recording ${id}`, before, after, utcUs);
      seals.seal("recording", id);
    }),
    markDerived: db.transaction((id: number) => {
      db.prepare("UPDATE recording SET derived = 1 WHERE id = ?").run(id);
      seals.seal("recording", id);
    }),
  };
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
