/** Opens a book for one command, reports what had to be repaired, and always closes it. */
import { drain } from "../../shared/kernel/drain.ts";
import type { Recovery } from "../core/deriving/recover.ts";
import { chosenRuns } from "../core/library/chosen-runs.ts";
import { launchTeam } from "../launch-team.ts";
import { openBook } from "../open-book.ts";
import type { Book } from "../ports/book.ts";
import { createProgress } from "./progress.ts";
import { warn } from "./say.ts";

/** `rederives`: the command derives every recording itself. `settles`: recordings left by a process that died are derived first. */
export async function withBook<T>(
  options: { file: string; create?: boolean; rederives?: boolean; settles?: boolean },
  work: (book: Book) => T | Promise<T>,
): Promise<T> {
  const { book, recovery, old, bad } = openBook({ file: options.file, create: options.create === true });
  try {
    for (const line of recovery.told) warn(line);
    // Reading does not wait for a recording whose process died.
    const left = options.settles === true ? deriveLeft(recovery) : recovery.waiting;
    if (options.rederives !== true) for (const line of [...left, ...bad, ...(old === null ? [] : [old])]) warn(line);
    return await work(book);
  } finally {
    book.close();
  }
}

function deriveLeft(recovery: Recovery): readonly string[] {
  const progress = createProgress();
  const lines = drain(recovery.derive(launchTeam(warn)), (share) => progress.at(share, "Deriving an interrupted recording"));
  progress.end();
  return lines;
}

/** What every command that takes runs offers: `.option(...WHERE)`. */
export const WHERE = [
  "--where <terms...>",
  "only runs for which all of these terms hold: surface=wet 'day>=2031-05-04' label!=off run=1-12,15 ...",
] as const;

export interface WhereOption {
  readonly where?: readonly string[];
}

/** Numbers of one run or several ("all", "7", "1-12,15") for which the terms hold; at least one, where terms are given. */
export function someRuns(book: Book, numbers: string, { where }: WhereOption = {}): number[] {
  const ids = chosenRuns(book, numbers, where);
  if (ids.length === 0 && where !== undefined)
    throw new RangeError(`No run has ${where.join(" and ")}; \`runs\` lists them with what is noted`);
  return ids;
}

/** The terms, once a run holds them all: an answer about no runs, or a page of none, would hide a typing mistake. */
export function heldTerms(book: Book, options: WhereOption): WhereOption["where"] {
  if (options.where !== undefined) someRuns(book, "all", options);
  return options.where;
}

/** "7", but not "7,8", "7-9" or "all": one run is answered by itself, several as a list. */
export const isOneNumber = (numbers: string): boolean => /^\s*\d+\s*$/.test(numbers);

export function runNumber(text: string): number {
  const id = Number(text);
  if (!Number.isInteger(id) || id < 1) throw new RangeError(`Expected a run's number, got ${JSON.stringify(text)}; \`runs\` lists them`);
  return id;
}
