/** Opens a book for one command, says what had to be mended, and always closes it. */
import { openBook } from "../open-book.ts";
import type { Book } from "../ports/book.ts";
import { warn } from "./say.ts";

/** `rederives`: the command derives every recording itself. */
export async function withBook<T>(
  options: { file: string; create?: boolean; rederives?: boolean },
  work: (book: Book) => T | Promise<T>,
): Promise<T> {
  const { book, recovery, old, bad } = openBook({ file: options.file, create: options.create === true });
  try {
    for (const line of recovery.told) warn(line);
    // Reading does not wait for a recording that a process died in.
    if (options.rederives !== true) for (const line of [...recovery.waiting, ...bad, ...(old === null ? [] : [old])]) warn(line);
    return await work(book);
  } finally {
    book.close();
  }
}

/** Ids of "all" or of one run. A run that is no number throws RangeError; an unknown one BookError. */
export function chosenRuns(book: Book, chosen: string): number[] {
  if (chosen === "all") return book.runs().map((run) => run.id);
  return [book.run(runNumber(chosen)).id];
}

export function runNumber(text: string): number {
  const id = Number(text);
  if (!Number.isInteger(id) || id < 1) throw new RangeError(`Expected a run's number, got ${JSON.stringify(text)}; \`runs\` lists them`);
  return id;
}
