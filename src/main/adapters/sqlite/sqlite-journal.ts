/** Recordings and their journal, as they are written: blocks with hole-free sequence numbers a stream. A recording that may not be written throws BookError. */
import { rmSync } from "node:fs";
import { crc32 } from "node:zlib";
import type { Database } from "better-sqlite3";
import { type Book, BookError, type JournalEntry, type Recording, type RecordingStart, type StoredSetUp } from "../../ports/book.ts";
import { findAside, keepAside } from "./held-aside.ts";
import { decodeBlock, encodeBlock } from "./journal-block.ts";
import { createJournalReads, lastLineNs, soundBlocks } from "./sqlite-journal-reads.ts";
import { storeSetUp } from "./sqlite-set-ups.ts";
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

const NS_PER_US = 1000n;
const NS_PER_S = 1e9;
const utcNs = (us: number) => BigInt(Math.round(us)) * NS_PER_US;
/** `tails` outlives the connection: a book that goes on in another file goes on with the next number. */
export function createJournalPart(db: Database, file: string, seals: Seals, keepEdit: KeepEdit, tails: Tails): JournalPart {
  const reads = createJournalReads(db, file);
  const { recording } = reads;
  const insertBlock = db.prepare("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  const insertMark = db.prepare("INSERT INTO mark (recording, at_ns, kind, text) VALUES (?, ?, ?, ?)");
  const insertGap = db.prepare("INSERT INTO gap VALUES (?, ?, ?, ?, ?)");
  const insertClock = db.prepare("INSERT INTO clock_sample VALUES (?, ?, ?)");
  const selectState = db.prepare("SELECT state FROM recording WHERE id = ?").pluck();

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
      .run(state, lastLineNs(db, id), id);
    if (changes === 0) return;
    for (const what of ["recording", "journal", "marks", "gaps", "clock"] as const) seals.seal(what, id);
  });

  function reopen(id: number): void {
    let tail: Tail = { block: 0, gnss: 0, can: 0, lines: NO_LINES };
    for (const row of soundBlocks(db, file, id)) {
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
        .run(start.uid, start.origin, utcNs(start.baseUtcUs), start.canFormat, storeSetUp(db, start.setUp));
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
    ...reads,
    alignEnd: db.transaction((id: number) => {
      const { state, endNs } = recording(id);
      if (state === "open" || endNs === lastLineNs(db, id)) return;
      db.prepare("UPDATE recording SET end_ns = ? WHERE id = ?").run(lastLineNs(db, id), id);
      seals.seal("recording", id);
    }),
    replaceSetUp: db.transaction((id: number, setUp: StoredSetUp, utcUs: number) => {
      const before = db.prepare("SELECT set_up FROM recording WHERE id = ?").pluck().get(id) as number;
      const after = storeSetUp(db, setUp);
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
