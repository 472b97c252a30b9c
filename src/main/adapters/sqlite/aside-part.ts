/**
 * The book's part that keeps aside what it cannot store, and takes it back: in steps while recording, or whole at the next opening. Nothing
 * comes in twice. A damaged line, or a file that somebody removed, becomes a gap with its cause.
 */
import { rmSync } from "node:fs";
import type { Database } from "better-sqlite3";
import type { Mark } from "../../../shared/launch/mark.ts";
import type { Packet } from "../../../shared/pipeline/packet.ts";
import { FileRefused } from "../../disk/file-error.ts";
import type { Book, Gap, JournalEntry } from "../../ports/book.ts";
import { findAside, type Keeping, type KeptEntry, keepAside, readAside } from "./held-aside.ts";
import { type JournalReads, lastPacketNs } from "./sqlite-journal-reads.ts";
import type { JournalWrites, Tail } from "./sqlite-journal-writes.ts";

/** What was kept aside for a recording and is not yet back. */
interface Aside extends Keeping {
  /** The next packet's numbers. */
  gnss: number;
  can: number;
  /** Arrival of the last packet that was kept. */
  lastNs: number;
  /** Where in the first file to go on reading. */
  readTo: number;
}

/** By recording. */
export type Asides = Map<number, Aside>;

export interface AsidePartOptions {
  readonly db: Database;
  readonly file: string;
  readonly reads: JournalReads;
  readonly asides: Asides;
  readonly tails: Map<number, Tail>;
  readonly tailOf: (id: number) => Tail;
  readonly append: JournalWrites["append"];
  readonly reopen: (id: number) => void;
  readonly close: (id: number, state: "closed" | "interrupted") => void;
}

const NS_PER_S = 1e9;
/** About a second of journal: no byte from a port waits longer than for one commit. */
const LINES_AT_ONCE = 8;

const NOTHING = { packets: [], marks: [], gaps: [], clock: [] } as const;

/** A part of the journal that is nowhere; its end is where the next packet is known to be. */
const lost = (fromNs: number, toNs: number, cause: string): JournalEntry => ({
  ...NOTHING,
  gaps: (["gnss", "can"] as const).map((stream) => ({ stream, fromNs: Math.min(fromNs, toNs), toNs, cause })),
});

const damagedWords = (file: string) => `it had been kept in ${file}, which is damaged there`;

/** Without the packets that the journal has already: the first ones, as all arrive in order. */
function unknownOf(packets: readonly Packet[], known: { gnss: number; can: number }): readonly Packet[] {
  const left = { ...known };
  return packets.filter(({ stream }) => {
    left[stream] -= 1;
    return left[stream] < 0;
  });
}

/** Rows that have no numbers are known by what the journal had before. */
function rowsOf(reads: JournalReads, id: number) {
  const known = new Set([
    ...reads.marks(id).map(markKey),
    ...reads.gaps(id).map(gapKey),
    ...reads.clockSamples(id).map(({ atNs }) => `clock ${atNs}`),
  ]);
  return ({ marks, gaps, clock }: JournalEntry): Omit<JournalEntry, "packets"> => ({
    marks: marks.filter((mark) => !known.has(markKey(mark))),
    gaps: gaps.filter((gap) => !known.has(gapKey(gap))),
    clock: clock.filter(({ atNs }) => !known.has(`clock ${atNs}`)),
  });
}

const markKey = ({ tS, kind, text }: Mark) => `mark ${Math.round(tS * NS_PER_S)} ${kind} ${text}`;
const gapKey = ({ stream, fromNs, toNs }: Gap) => `gap ${stream} ${fromNs} ${toNs}`;

/** False where the system refuses it. All that it held is in the journal by then, so one that stays does no harm: nothing is taken from it again. */
function isRemoved(file: string): boolean {
  try {
    rmSync(file);
    return true;
  } catch (error) {
    // Only what the system itself refuses has a code.
    if ((error as NodeJS.ErrnoException).code === undefined) throw error;
    return false;
  }
}

function firstOf<T>(items: Iterable<T>, most: number): T[] {
  const first: T[] = [];
  for (const item of items) if (first.push(item) === most) break;
  return first;
}

export function createAsidePart(options: AsidePartOptions): Pick<Book, "keepAside" | "takeSomeBack" | "takeBack"> {
  const { db, file, reads, asides, tails, tailOf, append, reopen, close } = options;

  function begin(id: number): Aside {
    const { gnss, can } = tailOf(id);
    return { bookFile: file, uid: reads.recording(id).uid, files: [], gnss, can, lastNs: 0, readTo: 0 };
  }

  /** Appends a few lines of the first file in one commit; false where it has none left. */
  function takeSome(id: number, aside: Aside, from: string): boolean {
    const lines = firstOf(readAside(from, aside.uid, aside.readTo), LINES_AT_ONCE);
    let tail = tailOf(id);
    db.transaction(() => {
      for (const [i, { entry }] of lines.entries()) {
        const next = lines.slice(i).find((line) => line.entry !== null)?.entry?.packets[0]?.arrivalNs ?? aside.lastNs;
        tail = append(id, tail, entry ?? lost(lastPacketNs(db, id), next, damagedWords(from)));
      }
    })();
    tails.set(id, tail);
    aside.readTo = lines.at(-1)?.next ?? aside.readTo;
    return lines.length > 0;
  }

  /** Everything in a file; gives the number of damaged lines, and whether the recording was closed with it. */
  function takeWhole(id: number, from: string, uid: string): { damaged: number; ends: boolean } {
    let [damaged, isAfterDamage, ends] = [0, false, false];
    const newRows = rowsOf(reads, id);
    const hole = (toNs: number) => {
      if (isAfterDamage) tails.set(id, append(id, tailOf(id), lost(lastPacketNs(db, id), toNs, damagedWords(from))));
      isAfterDamage = false;
    };
    for (const { entry } of readAside(from, uid, 0)) {
      if (entry === null) {
        damaged += 1;
        isAfterDamage = true;
        continue;
      }
      hole(entry.packets[0]?.arrivalNs ?? lastPacketNs(db, id));
      const tail = tailOf(id);
      const packets = unknownOf(entry.packets, { gnss: tail.gnss - entry.gnss, can: tail.can - entry.can });
      tails.set(id, append(id, tail, { ...newRows(entry), packets }));
      ends ||= entry.ends;
    }
    hole(lastPacketNs(db, id));
    return { damaged, ends };
  }

  return {
    keepAside(id, entries, ends) {
      const aside = asides.get(id) ?? begin(id);
      let { gnss, can, lastNs } = aside;
      const lines = entries.map((entry, i): KeptEntry => {
        const line = { ...entry, gnss, can, ends: ends && i === entries.length - 1 };
        for (const { stream } of entry.packets) {
          if (stream === "can") can += 1;
          else gnss += 1;
        }
        lastNs = entry.packets.at(-1)?.arrivalNs ?? lastNs;
        return line;
      });
      const where = keepAside(aside, lines);
      asides.set(id, Object.assign(aside, { gnss, can, lastNs }));
      return where;
    },
    takeSomeBack(id) {
      const aside = asides.get(id);
      const [first, ...rest] = aside?.files ?? [];
      if (aside === undefined || first === undefined) return true;
      try {
        if (takeSome(id, aside, first)) return false;
        isRemoved(first);
      } catch (error) {
        if (!(error instanceof FileRefused)) throw error;
        tails.set(id, append(id, tailOf(id), lost(lastPacketNs(db, id), aside.lastNs, `it had been kept in ${first}, which is not there`)));
      }
      Object.assign(aside, { files: rest, readTo: 0 });
      if (rest.length > 0) return false;
      asides.delete(id);
      return true;
    },
    takeBack(id) {
      const { uid } = reads.recording(id);
      const files = findAside(file, uid);
      if (files.length === 0) return null;
      const taken = db.transaction(() => {
        reopen(id);
        const each = files.map((from) => ({ from, ...takeWhole(id, from, uid) }));
        close(id, each.some(({ ends }) => ends) ? "closed" : "interrupted");
        return each;
      })();
      tails.delete(id);
      const stays = taken.flatMap(({ from, damaged }) => (damaged > 0 || isRemoved(from) ? [] : [from]));
      return { files, stays, damaged: taken.reduce((sum, { damaged }) => sum + damaged, 0) };
    },
  };
}
