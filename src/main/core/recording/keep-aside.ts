/** The last commit of a recording. What the book cannot take is kept in a file elsewhere, or where there is no such place its length is recorded as a gap; either way it throws BookError that says how much and where. */
import { type Book, BookError, type Gap } from "../../ports/book.ts";
import type { Held, JournalWriter } from "./journal-writer.ts";

const LOST = "the disk was full until the end";

/** A gap takes a few bytes: often there is room for it where a block of packets finds none. True where it is stored. */
function recordLoss(book: Book, recording: number, { entries }: Held): boolean {
  const packets = entries.flatMap((entry) => entry.packets);
  const gaps = (["gnss", "can"] as const).flatMap((stream): Gap[] => {
    const lost = packets.filter((packet) => packet.stream === stream);
    const [first, last] = [lost[0], lost.at(-1)];
    return first === undefined || last === undefined ? [] : [{ stream, fromNs: first.arrivalNs, toNs: last.arrivalNs, cause: LOST }];
  });
  try {
    book.append(recording, { packets: [], marks: [], clock: [], gaps: [...gaps, ...entries.flatMap((entry) => entry.gaps)] });
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
    throw aside(book, recording, journal.held(), error);
  }
}

function aside(book: Book, recording: number, held: Held, full: BookError): BookError {
  const much = `the last ${held.seconds.toFixed(1)} s (${(held.bytes / 1e6).toFixed(1)} MB) of recording ${recording}`;
  try {
    const file = book.keepAside(recording, held.entries);
    return new BookError(
      "full",
      `${full.message}. It could not take ${much}: they are kept in ${file}, and the book takes them in when it is opened again`,
      {
        cause: full,
      },
    );
  } catch (error) {
    if (!(error instanceof BookError)) throw error;
    const told = recordLoss(book, recording, held) ? "the gap is recorded" : "not even the gap could be recorded";
    return new BookError("full", `${full.message}. ${much} ARE LOST, ${told}: ${error.message}`, { cause: error });
  }
}
