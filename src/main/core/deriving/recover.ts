/**
 * What a book needs when it is opened: a recording that a process died in is closed as interrupted, at once; its runs are derived in steps, by whoever
 * has the time, so that reading never waits for it. Runs of an earlier Gripbook are named. Whoever cannot own the book leaves it alone.
 */
import { drain } from "../../../shared/kernel/drain.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import { type Book, BookError } from "../../ports/book.ts";
import { settleSteps } from "./settle.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

export interface Recovery {
  /** One line for each recording that was closed or cannot be, told at once; empty when all was well. */
  readonly told: readonly string[];
  /** One line for each whose runs are not final yet, for who does not derive them. */
  readonly waiting: readonly string[];
  /** Derives them: gives the share that is done, ends with one line for each. One that cannot be derived says why and stays stored. */
  derive(): Generator<number, readonly string[], undefined>;
}

const NO_STEPS: ReadonlyMap<number, string> = new Map();

export function recovery(book: Book, gates: readonly Gate[]): Recovery {
  const nothing: Recovery = { told: [], waiting: [], derive: () => deriveSteps(book, NO_STEPS, gates) };
  const unsettled = book.recordings().filter((recording) => recording.state === "open" || !recording.derived);
  if (unsettled.length === 0) return nothing;
  try {
    if (!book.own()) return nothing;
  } catch (error) {
    // It can be read all the same.
    if (error instanceof BookError) return { ...nothing, told: [error.message] };
    throw error;
  }
  const whats = new Map<number, string>();
  const told: string[] = [];
  for (const { id, state } of unsettled) {
    try {
      whats.set(id, state === "open" ? closeOpen(book, id) : `Recording ${id} had not been derived`);
    } catch (error) {
      told.push(`Recording ${id} could not be closed: ${wordsOf(error)}; its bytes are safe`);
    }
  }
  return {
    told,
    waiting: [...whats.values()].map(
      (what) =>
        `${what}; its runs are final once \`npm run --silent gripbook -- rederive --book ${book.file}\`, or the next start with screens, has derived them`,
    ),
    derive: () => deriveSteps(book, whats, gates),
  };
}

function* deriveSteps(
  book: Book,
  whats: ReadonlyMap<number, string>,
  gates: readonly Gate[],
): Generator<number, readonly string[], undefined> {
  const lines: string[] = [];
  for (const [id, what] of whats) {
    try {
      const steps = settleSteps(book, id, { gates, recalibrate: false });
      let step = steps.next();
      for (; step.done !== true; step = steps.next()) yield (lines.length + step.value) / whats.size;
      const { runs } = step.value;
      lines.push(`${what} and derived, ${runs.length} ${runs.length === 1 ? "run" : "runs"} found`);
    } catch (error) {
      lines.push(`${what}, but deriving failed: ${wordsOf(error)}; its bytes are safe, mend that and run rederive`);
    }
  }
  return lines;
}

/** All of it at once. */
export function recover(book: Book, gates: readonly Gate[]): readonly string[] {
  const { told, derive } = recovery(book, gates);
  return [...told, ...drain(derive())];
}

/** With what a full disk had kept out of it, where that was kept aside; what it says of that file stops nothing. */
function closeOpen(book: Book, id: number): string {
  let trouble = "";
  try {
    const file = book.takeBack(id);
    if (file !== null) return `Recording ${id} took in what had been kept aside in ${file}: it was closed`;
  } catch (error) {
    if (!(error instanceof BookError) || error.code !== "damaged") throw error;
    trouble = `${error.message}. `;
  }
  book.closeRecording(id, "interrupted");
  return `${trouble}Recording ${id} had been interrupted: it was closed`;
}

/** Runs that an earlier Gripbook derived lack what this one reads of them (the slope of both ways); null where all are of this one. */
export function outdated(book: Book): string | null {
  const count = book.runs().filter((run) => run.final && run.found && run.figures.slopeSigns === undefined).length;
  if (count === 0) return null;
  const whose = count === 1 ? "1 run was" : `${count} runs were`;
  return `${whose} derived by an earlier Gripbook: \`npm run --silent gripbook -- rederive --book ${book.file}\` once brings ${count === 1 ? "it" : "them"} up to this one`;
}
