/**
 * The last commit of a recording. What the book cannot store is kept in a file elsewhere. Where no place takes such a file, it goes into the room
 * that was kept free; what is too much for that is lost, and the length of the loss is recorded as a gap. Throws BookError that says how much and
 * where, unless all is stored.
 */
import { type Book, BookError, type Gap, type JournalEntry } from "../../ports/book.ts";
import type { JournalWriter } from "./journal-writer.ts";

/** A gap needs only a few bytes, for which there is often room when a block of packets has none. True where it was stored. */
function recordLoss(book: Book, recording: number, entries: readonly JournalEntry[]): boolean {
  const packets = entries.flatMap((entry) => entry.packets);
  const gaps = (["gnss", "can"] as const).flatMap((stream): Gap[] => {
    const lost = packets.filter((packet) => packet.stream === stream);
    const [first, last] = [lost[0], lost.at(-1)];
    const bytes = lost.reduce((sum, packet) => sum + packet.bytes.length, 0);
    const cause = `the disk was full until the end: ${(bytes / 1e6).toFixed(1)} MB lost`;
    return first === undefined || last === undefined ? [] : [{ stream, fromNs: first.arrivalNs, toNs: last.arrivalNs, cause }];
  });
  try {
    const rest = entries.map(({ marks, clock, gaps: told }) => ({ marks, clock, gaps: told }));
    book.append(recording, {
      packets: [],
      marks: rest.flatMap(({ marks }) => marks),
      clock: rest.flatMap(({ clock }) => clock),
      gaps: [...gaps, ...rest.flatMap(({ gaps: told }) => told)],
    });
    return true;
  } catch (error) {
    if (!(error instanceof BookError)) throw error;
    return false;
  }
}

export function flushOrKeepAside(book: Book, recording: number, journal: JournalWriter): void {
  try {
    journal.flush();
  } catch (error) {
    if (!(error instanceof BookError)) throw error;
    const told = aside(book, recording, journal, error);
    if (told !== null) throw told;
  }
}

/** With the room that was kept free for it. */
function isStored(book: Book, journal: JournalWriter): boolean {
  book.giveRoom("most");
  try {
    journal.flush();
    return true;
  } catch (error) {
    if (!(error instanceof BookError)) throw error;
    return false;
  }
}

/** What must be told; null where all is stored after all. */
function aside(book: Book, recording: number, journal: JournalWriter, full: BookError): BookError | null {
  const { seconds, bytes } = journal.missing();
  const much = `the last ${seconds.toFixed(1)} s (${(bytes / 1e6).toFixed(1)} MB) of recording ${recording}`;
  try {
    const file = journal.keepAside();
    return new BookError(
      "full",
      `${full.message}. It could not take ${much}: they are kept in ${file}, and the book takes them in when it is opened again`,
      { cause: full },
    );
  } catch (error) {
    if (!(error instanceof BookError)) throw error;
    if (isStored(book, journal)) return null;
    book.giveRoom("rest");
    const told = recordLoss(book, recording, journal.held()) ? "the gap is recorded" : "not even the gap could be recorded";
    return new BookError("full", `${full.message}. ${much} ARE LOST, ${told}: ${error.message}`, { cause: error });
  }
}
