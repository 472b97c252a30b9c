/** The gates that a book times: the standard ones and those that people added. A stored gate of an odd shape throws BookError. */
import { type Gate, STANDARD_GATES } from "../../shared/run/gate.ts";
import { type Book, BookError } from "../ports/book.ts";

const KEY = "gates";

const isGate = (value: unknown): value is Gate => {
  const { kind, name } = (value ?? {}) as Record<string, unknown>;
  return typeof name === "string" && ["standing", "rolling", "distance", "stop"].includes(String(kind));
};

export function ownGates(book: Book): readonly Gate[] {
  const stored = book.setting(KEY);
  if (stored === null) return [];
  if (!Array.isArray(stored) || !stored.every(isGate))
    throw new BookError("damaged", `Book ${book.file}: its own gates cannot be read; run check on a copy`);
  return stored;
}

export function gatesOf(book: Book): readonly Gate[] {
  return [...STANDARD_GATES, ...ownGates(book)];
}

/** Adds or, under the same name, replaces a gate of one's own. */
export function keepGate(book: Book, gate: Gate, utcUs: number): void {
  if (STANDARD_GATES.some((standard) => standard.name === gate.name))
    throw new RangeError(`Gate ${gate.name} is a standard gate: give yours another name`);
  book.setSetting(KEY, [...ownGates(book).filter((own) => own.name !== gate.name), gate], utcUs);
}
