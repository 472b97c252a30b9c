/**
 * A recording's packets as they are derived: where the clocks of its two logs differed, and a person had them aligned, one stream is moved. The
 * journal keeps both as they came. A stored shift of another form throws BookError.
 */
import type { Packet } from "../../../shared/pipeline/packet.ts";
import { shiftedPackets } from "../../../shared/pipeline/shifted-packets.ts";
import { type Book, BookError } from "../../ports/book.ts";

const KEY = "aligned logs";

function shifts(book: Book): Readonly<Record<string, number>> {
  const value = book.setting(KEY) ?? {};
  if (typeof value !== "object" || !Object.values(value).every(Number.isFinite))
    throw new BookError("damaged", `Book ${book.file}: its setting ${KEY} cannot be read; run check on a copy`);
  return value as Record<string, number>;
}

/** Seconds by which the receiver's log lay later than the bus's, taken out; 0 where the two were never aligned. */
export const shiftOf = (book: Book, recording: number): number => shifts(book)[recording] ?? 0;

/** A further shift: `lateByS` as the recording shows it now. */
export function addShift(book: Book, recording: number, lateByS: number, utcUs: number): void {
  const before = shifts(book);
  book.setSetting(KEY, { ...before, [recording]: Math.round(1000 * ((before[recording] ?? 0) + lateByS)) / 1000 }, utcUs);
}

/** Read from the journal each time they are asked for: a long recording is gone through twice. */
export function packetsOf(book: Book, recording: number): Iterable<Packet> {
  const lateByS = shiftOf(book, recording);
  const stored = () => book.packets(recording);
  return { [Symbol.iterator]: () => (lateByS === 0 ? stored() : shiftedPackets(stored, lateByS))[Symbol.iterator]() };
}
