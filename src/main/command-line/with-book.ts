/** Opens a book for one command, says what had to be mended, and always closes it. */
import { drain } from "../../shared/kernel/drain.ts";
import type { Recovery } from "../core/deriving/recover.ts";
import { openBook } from "../open-book.ts";
import type { Book } from "../ports/book.ts";
import { createProgress } from "./progress.ts";
import { warn } from "./say.ts";

/** `rederives`: the command derives every recording itself; `settles`: what a dead process left is derived first. */
export async function withBook<T>(
  options: { file: string; create?: boolean; rederives?: boolean; settles?: boolean },
  work: (book: Book) => T | Promise<T>,
): Promise<T> {
  const { book, recovery, old, bad } = openBook({ file: options.file, create: options.create === true });
  try {
    for (const line of recovery.told) warn(line);
    // Reading does not wait for a recording that a process died in.
    const left = options.settles === true ? deriveLeft(recovery) : recovery.waiting;
    if (options.rederives !== true) for (const line of [...left, ...bad, ...(old === null ? [] : [old])]) warn(line);
    return await work(book);
  } finally {
    book.close();
  }
}

function deriveLeft(recovery: Recovery): readonly string[] {
  const progress = createProgress();
  const lines = drain(recovery.derive(), (share) => progress.at(share, "Deriving an interrupted recording"));
  progress.end();
  return lines;
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
