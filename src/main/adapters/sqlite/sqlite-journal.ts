/**
 * Writes recordings and their journal: blocks with sequence numbers without holes for each stream. A recording that must not be written
 * throws BookError.
 */
import type { Database } from "better-sqlite3";
import { type Book, BookError, type Recording, type RecordingStart, type StoredSetUp } from "../../ports/book.ts";
import { type Asides, createAsidePart } from "./aside-part.ts";
import { createJournalWrites, type Tail } from "./sqlite-journal-writes.ts";
import { createJournalReads, lastLineNs, soundBlocks } from "./sqlite-journal-reads.ts";
import { storeSetUp } from "./sqlite-set-ups.ts";
import type { KeepEdit } from "./sqlite-settings.ts";
import type { Seals } from "./sqlite-seals.ts";
import { advanceLineClock, NO_LINES } from "./line-clock.ts";

type JournalPart = Pick<
  Book,
  | "startRecording"
  | "reopenRecording"
  | "append"
  | "draft"
  | "closeRecording"
  | "keepAside"
  | "takeSomeBack"
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

/** What this process has open for writing, by recording. Outlives the connection: a book that moves to another file continues there. */
export interface Writing {
  /** Where the next block continues. */
  readonly tails: Map<number, Tail>;
  readonly asides: Asides;
}

const NS_PER_US = 1000n;
const utcNs = (us: number) => BigInt(Math.round(us)) * NS_PER_US;

export function createJournalPart(db: Database, file: string, seals: Seals, keepEdit: KeepEdit, { tails, asides }: Writing): JournalPart {
  const reads = createJournalReads(db, file);
  const { recording } = reads;
  const { append, draft } = createJournalWrites(db, file);

  function tailOf(id: number): Tail {
    const tail = tails.get(id);
    if (tail === undefined) throw new BookError("notFound", `Book ${file}: recording ${id} is not open for writing`);
    return tail;
  }

  /** Rows that change while bytes come are sealed at the end. */
  const close = db.transaction((id: number, state: "closed" | "interrupted") => {
    const { changes } = db
      .prepare("UPDATE recording SET state = ?, end_ns = ? WHERE id = ? AND state = 'open'")
      .run(state, lastLineNs(db, id), id);
    if (changes === 0) return;
    for (const what of ["recording", "journal", "marks", "gaps", "clock"] as const) seals.seal(what, id);
  });

  function reopen(id: number): void {
    let tail: Tail = { block: 0, gnss: 0, can: 0, lines: NO_LINES };
    for (const { row, packets } of soundBlocks(db, file, id)) {
      const lines = advanceLineClock(tail.lines, packets);
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
    // Its runs rest on a part: what the whole gives them is their name, by which the same launch is known in another import.
    reopenRecording: db.transaction((id: number) => {
      reopen(id);
      const runs = db.prepare("UPDATE run SET final = 0 WHERE recording = ? RETURNING id").pluck().all(id) as number[];
      seals.seal("figures", ...runs);
    }),
    append(id, entry) {
      // Numbers advance only with the commit: a second try after a full disk leaves no hole.
      tails.set(id, append(id, tailOf(id), entry));
    },
    draft(id, packets) {
      draft(id, tailOf(id), packets);
    },
    closeRecording(id, state) {
      close(id, state);
      tails.delete(id);
    },
    ...createAsidePart({ db, file, reads, asides, tails, tailOf, append, reopen, close }),
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
