/**
 * The gates that a book times: the standard ones and those that people added. A stored gate of a wrong form throws BookError; one with the
 * name of a standard gate throws RangeError.
 */
import { isGate } from "../../../shared/contract/wiring-contract.ts";
import { type Gate, STANDARD_GATES } from "../../../shared/launch/gate.ts";
import { type Book, BookError } from "../../ports/book.ts";

const KEY = "gates";

export function ownGates(book: Book): readonly Gate[] {
  const stored = book.setting(KEY);
  if (stored === null) return [];
  if (!Array.isArray(stored) || !stored.every(isGate))
    throw new BookError("damaged", `Book ${book.file}: its own gates cannot be read; run check on a copy`);
  return stored;
}

/** The gates that a book with these own gates times. */
export const timedGates = (own: readonly Gate[]): readonly Gate[] => [...STANDARD_GATES, ...own];

export const gatesOf = (book: Book): readonly Gate[] => timedGates(ownGates(book));

/** The book's own gates with this one added, or replaced where it has the same name. */
export const withGate = (book: Book, gate: Gate): readonly Gate[] => [...ownGates(book).filter((own) => own.name !== gate.name), gate];

export function setOwnGates(book: Book, gates: readonly Gate[], utcUs: number): void {
  const taken = gates.find((gate) => STANDARD_GATES.some((standard) => standard.name === gate.name));
  if (taken !== undefined) throw new RangeError(`Gate ${taken.name} is a standard gate: give yours another name`);
  book.setSetting(KEY, gates, utcUs);
}
