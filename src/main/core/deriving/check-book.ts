/** Everything `check` looks at: SQLite's own integrity, holes in the journal, and that every final run is what its journal gives. Faults are lines, never exceptions. */
import { drain } from "../../../shared/kernel/drain.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import type { Book, StoredRun } from "../../ports/book.ts";
import { deriveSteps, type FreshRun } from "./derive.ts";
import { matchRuns } from "./settle.ts";

export interface BookCheck {
  readonly faults: readonly string[];
  readonly recordings: number;
  readonly runs: number;
}

/** Where two values first differ, as a path; null when they are the same. -0 and 0 are, as rows hold no sign of zero. */
function firstDifference(a: unknown, b: unknown, path: string): string | null {
  if (typeof a === "number" && typeof b === "number") return a === b || (Number.isNaN(a) && Number.isNaN(b)) ? null : path;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return a === b ? null : path;
  const keys = new Set([...Object.keys(a), ...Object.keys(b)]);
  for (const key of keys) {
    const found = firstDifference((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key], `${path}.${key}`);
    if (found !== null) return found;
  }
  return null;
}

function runFault(book: Book, stored: StoredRun, fresh: FreshRun | undefined): string | null {
  if (fresh === undefined) return `run ${stored.id}: its journal no longer gives this launch; run rederive`;
  // A uid is a name: the first one stays.
  const { uid: _stored, ...figures } = stored.figures;
  const { uid: _fresh, ...freshFigures } = fresh.figures;
  const differs =
    firstDifference(figures, freshFigures, "figures") ??
    firstDifference(stored.print, fresh.print, "print") ??
    firstDifference(book.samples(stored.id).samples, fresh.samples, "samples") ??
    firstDifference(book.sampleRows(stored.id).samples, fresh.samples, "rows");
  return differs === null ? null : `run ${stored.id}: ${differs} differs from what its journal gives; run rederive`;
}

/** `onShare` is told how far it is, 0 to 1. */
export function checkBook(book: Book, gates: readonly Gate[], onShare: (share: number) => void = () => undefined): BookCheck {
  const faults = book.integrityFaults();
  const recordings = book.recordings();
  for (const [i, recording] of recordings.entries()) {
    onShare(i / recordings.length);
    const holes = book.journalFaults(recording.id);
    faults.push(...holes);
    if (recording.state === "open") continue;
    if (!recording.derived) faults.push(`recording ${recording.id}: not derived yet; run rederive`);
    const calibration = book.newestCalibration(recording.id);
    if (holes.length > 0 || !recording.derived || calibration === null) continue;
    const steps = deriveSteps(book, recording, calibration.calibration, gates);
    const derived = drain(steps, (share) => onShare((i + share) / recordings.length));
    const stored = book.runsOf(recording.id).filter((run) => run.final && run.found);
    const matched = new Map([...matchRuns(derived.runs, stored)].map(([fresh, run]) => [run.id, fresh]));
    for (const run of stored) {
      const fault = runFault(book, run, matched.get(run.id));
      if (fault !== null) faults.push(fault);
    }
    const held = new Set(book.runs().map((run) => run.uid));
    for (const fresh of derived.runs) {
      // A merged recording leaves out launches that the book holds from another recording.
      if (![...matched.values()].includes(fresh) && !held.has(fresh.uid))
        faults.push(
          `recording ${recording.id}: its journal gives a launch at ${fresh.figures.movementS.toFixed(1)} s that is not stored; run rederive`,
        );
    }
  }
  return { faults, recordings: recordings.length, runs: book.runs().length };
}
