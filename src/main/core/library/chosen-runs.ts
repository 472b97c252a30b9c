/** Runs of a book chosen by number and by terms ("surface=wet"). What names no run throws RangeError or BookError with what there is. */
import { chooseRuns, readRunNumbers } from "../../../shared/judge/run-filter.ts";
import type { Book } from "../../ports/book.ts";
import { runFacts } from "./run-facts.ts";

/** Terms that all must hold; none choose every run. */
export type Where = readonly string[];

/** Numbers of the runs, in driving order. `numbers`: "all", "7" or "1-12,15". */
export function chosenRuns(book: Book, numbers: string, where: Where = []): number[] {
  const all = book.runs();
  const ids = numbers === "all" ? null : new Set(readRunNumbers(numbers));
  // A run that is not there is said by the book, as is one that is damaged.
  for (const id of ids ?? []) if (!all.some((run) => run.id === id)) book.run(id);
  const left = all.filter((run) => ids === null || ids.has(run.id));
  if (where.length === 0) return left.map((run) => run.id);
  const chosen = new Set(chooseRuns(runFacts(book, all), where).map((run) => run.id));
  return left.flatMap((run) => (chosen.has(run.id) ? [run.id] : []));
}

/** The last choice of each book: the same runs are the same book again, and what was worked out for it stays known. */
const views = new WeakMap<Book, { readonly of: string; readonly view: Book }>();

/** The book as if it held the chosen runs alone, for what only reads them. Never for what fills plans: those need every run. */
export function onlyRuns(book: Book, where: Where = []): Book {
  if (where.length === 0) return book;
  const ids = chosenRuns(book, "all", where);
  const of = ids.join(",");
  const known = views.get(book);
  if (known?.of === of) return known.view;
  const chosen = new Set(ids);
  const view: Book = { ...book, runs: () => book.runs().filter((run) => chosen.has(run.id)) };
  views.set(book, { of, view });
  return view;
}
