/** Runs of a book in the form that MCAP holds, one at a time. An unknown run throws BookError. */
import type { Book } from "../../ports/book.ts";
import type { McapRun } from "../../ports/mcap-run.ts";
import { viewOf } from "./library.ts";
import { runTable } from "./run-columns.ts";
import { runFacts } from "./run-facts.ts";
import { runMoments } from "./run-moments.ts";
import { toldFlags } from "./told-flags.ts";

interface ToMcap {
  readonly softwareVersion: string;
  /** Called as each run is read: which of them it is. */
  readonly onRun: (index: number) => void;
}

export function* mcapRuns(book: Book, runs: readonly number[], { softwareVersion, onRun }: ToMcap): Generator<McapRun> {
  const [told, moments] = [toldFlags(book), runMoments(book)];
  const facts = new Map(runFacts(book, book.runs()).map((run) => [run.id, run]));
  for (const [i, id] of runs.entries()) {
    onRun(i);
    const { recording, figures } = book.run(id);
    const { startedAtUtcMs, movementS } = figures;
    yield {
      view: viewOf(book, id, told, moments),
      car: facts.get(id)?.car ?? null,
      movementUtcMs: startedAtUtcMs ?? book.recording(recording).baseUtcUs / 1000 + movementS * 1000,
      byReceiver: startedAtUtcMs !== null,
      table: runTable(book.samples(id), movementS),
      softwareVersion,
    };
  }
}
