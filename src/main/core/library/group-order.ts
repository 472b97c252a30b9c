/** The book's groups in the order in which it first met them, in a run or in a plan that was put to use: a group's place is its mark on every screen and on paper. */
import type { Book, StoredRun } from "../../ports/book.ts";

/** `runs`: the book's, where they have been read already. Groups of a plan stand before the runs that were driven after it, whatever its lot drew first. Runs without a label are of no group. */
export function groupOrder(book: Book, runs: readonly StoredRun[] = book.runs()): string[] {
  const found = new Set<string>();
  let taken = 0;
  const take = (upTo: number) => {
    for (; taken < runs.length && (runs[taken] as (typeof runs)[number]).id <= upTo; taken += 1)
      found.add((runs[taken] as (typeof runs)[number]).label);
  };
  for (const { afterRun, plan } of book.plans()) {
    take(afterRun);
    for (const group of plan.request.groups) found.add(group);
  }
  take(Number.POSITIVE_INFINITY);
  found.delete("");
  return [...found];
}
