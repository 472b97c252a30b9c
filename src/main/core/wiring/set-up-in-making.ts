/**
 * The set-up being made, with its signal files, and the set-up it is once nothing is missing. A broken signal file throws what a person
 * must correct in it, and everything stays as it was.
 */
import type { DbcFile } from "../../../shared/dbc/dbc-model.ts";
import { wholeOf } from "../../../shared/setup/draft-set-up.ts";
import type { WrittenDraft } from "../../../shared/setup/set-up-text.ts";
import type { SignalFileText } from "../../ports/book.ts";
import type { SetUpStore } from "../../ports/set-up-desk.ts";
import { lineOf } from "../basics/failure.ts";
import { bound, parseSignalFiles, type ReadySetUp } from "../basics/read-set-up.ts";
import type { HeardSignals } from "./heard-signals.ts";
import { factsOf } from "./wiring-requests.ts";

export interface SetUpInMaking {
  written(): WrittenDraft;
  /** Null while something is missing. */
  ready(): ReadySetUp | null;
  /** Why a complete set-up cannot be used; null when it can. */
  problem(): string | null;
  /** Takes another draft: reads its signal files and says whether it can be used. */
  take(next: WrittenDraft): void;
}

const isSame = (some: readonly SignalFileText[], others: readonly SignalFileText[]) =>
  some.length === others.length && some.every(({ name, text }, i) => name === others[i]?.name && text === others[i]?.text);

/** Takes `first` at once. `store`: null for the simulated car, whose set-up is `simulated`. */
export function createSetUpInMaking({
  first,
  store,
  simulated,
  signals,
}: {
  readonly first: WrittenDraft;
  readonly store: () => SetUpStore | null;
  readonly simulated: ReadySetUp | null;
  readonly signals: HeardSignals;
}): SetUpInMaking {
  let written = first;
  let files: DbcFile[] = [];
  let signalFiles: readonly SignalFileText[] = [];
  let ready: ReadySetUp | null = null;
  let problem: string | null = null;

  function readFiles(kept: SetUpStore | null, names: readonly string[]): void {
    const texts = kept === null ? (simulated?.stored.signalFiles ?? []) : kept.signalFiles(names);
    if (isSame(texts, signalFiles)) return;
    files = parseSignalFiles(texts);
    signalFiles = texts;
    signals.read(files);
  }

  function take(next: WrittenDraft): void {
    const kept = store();
    readFiles(kept, next.draft.database);
    written = next;
    signals.follow(next.draft.signals, factsOf(next.draft));
    ready = null;
    problem = null;
    const setUp = wholeOf(next.draft);
    if (setUp === null) return;
    try {
      const stored = { text: next.text, signalFiles };
      ready = kept === null ? simulated : bound({ stored, setUp, databases: files }, `Set-up ${kept.file}`);
    } catch (error) {
      problem = lineOf(error);
    }
  }

  take(first);
  return { written: () => written, ready: () => ready, problem: () => problem, take };
}
