/**
 * What a book needs when it is opened. A recording whose process died is closed as interrupted at once. Its runs are derived later, in
 * steps, so that reading need not wait. Runs of an earlier Gripbook are named. A process that cannot own the book changes nothing.
 */
import { drain } from "../../../shared/kernel/drain.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import { type Book, BookError } from "../../ports/book.ts";
import { type SettleOptions, settleSteps } from "./settle.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

export interface Recovery {
  /** One line for each recording that was closed or cannot be; empty when there was none. */
  readonly told: readonly string[];
  /** One line for each recording whose runs are not final yet, for callers that do not derive them. */
  readonly waiting: readonly string[];
  /** Derives them: gives the share done, ends with one line for each. A recording that cannot be derived says why and stays stored. */
  derive(team?: LaunchTeam): Generator<number, readonly string[], undefined>;
}

const NO_STEPS: ReadonlyMap<number, string> = new Map();

export function recovery(book: Book, gates: readonly Gate[]): Recovery {
  const nothing: Recovery = { told: [], waiting: [], derive: (team) => deriveSteps(book, NO_STEPS, { gates, team }) };
  const unsettled = book.recordings().filter((recording) => recording.state === "open" || !recording.derived);
  if (unsettled.length === 0) return nothing;
  try {
    if (!book.own()) return nothing;
  } catch (error) {
    // The book can still be read.
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
        `${what}; its runs are final once \`gripbook rederive --book ${book.file}\`, or the next start with screens, has derived them`,
    ),
    derive: (team) => deriveSteps(book, whats, { gates, team }),
  };
}

function* deriveSteps(
  book: Book,
  whats: ReadonlyMap<number, string>,
  how: Pick<SettleOptions, "gates" | "team">,
): Generator<number, readonly string[], undefined> {
  const lines: string[] = [];
  for (const [id, what] of whats) {
    try {
      const steps = settleSteps(book, id, { ...how, recalibrate: false });
      let step = steps.next();
      for (; step.done !== true; step = steps.next()) yield (lines.length + step.value) / whats.size;
      const { runs } = step.value;
      lines.push(`${what} and derived, ${runs.length} ${runs.length === 1 ? "run" : "runs"} found`);
    } catch (error) {
      lines.push(`${what}, but deriving failed: ${wordsOf(error)}; its bytes are safe, correct that and run rederive`);
    }
  }
  return lines;
}

/** All steps at once. */
export function recover(book: Book, gates: readonly Gate[]): readonly string[] {
  const { told, derive } = recovery(book, gates);
  return [...told, ...drain(derive())];
}

/** First stores what a full disk had kept out of the recording, if it was kept aside. */
function closeOpen(book: Book, id: number): string {
  const back = book.takeBack(id);
  if (back === null) {
    book.closeRecording(id, "interrupted");
    return `Recording ${id} had been interrupted: it was closed`;
  }
  const files = back.files.join(" and ");
  const stays = back.stays.length === 0 ? "" : ` (${back.stays.join(" and ")} cannot be removed: remove it yourself)`;
  if (back.damaged === 0) return `Recording ${id} took in what had been kept aside in ${files}${stays}: it was closed`;
  const parts = back.damaged === 1 ? "1 part of it is" : `${back.damaged} parts of it are`;
  return `Recording ${id} took in what had been kept aside in ${files}, which is damaged: ${parts} lost and recorded as gaps; it was closed`;
}

/** Runs derived by an earlier Gripbook lack a figure that this one uses (the slope from both directions); null where there are none. */
export function outdated(book: Book): string | null {
  const count = book.runs().filter((run) => run.final && run.found && run.figures.slopeSigns === undefined).length;
  if (count === 0) return null;
  const whose = count === 1 ? "1 run was" : `${count} runs were`;
  return `${whose} derived by an earlier Gripbook: \`gripbook rederive --book ${book.file}\` once brings ${count === 1 ? "it" : "them"} up to this one`;
}
