/** Where a recording's streams have holes that it knows of, as lines for people. */
import type { Book } from "../../ports/book.ts";

/** A thousand lines would help no more than fifty. */
const MOST = 50;
const seconds = (ns: number) => (ns / 1e9).toFixed(1);

export function holeLines(book: Book, recording: number): string[] {
  const gaps = book.gaps(recording);
  return [
    ...gaps.slice(0, MOST).map(({ stream, cause, fromNs, toNs }) => `Hole, ${stream}: ${seconds(fromNs)} to ${seconds(toNs)} s: ${cause}`),
    ...(gaps.length > MOST ? [`and ${gaps.length - MOST} holes more`] : []),
  ];
}
