/**
 * All that `check` examines: SQLite's own integrity, every checksum, holes in the journal, and that every final run equals what its journal
 * gives. Faults are lines, never exceptions.
 */
import { drain } from "../../../shared/kernel/drain.ts";
import type { Gate } from "../../../shared/launch/gate.ts";
import { ALONE, type LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import type { Book, Recording, StoredRun } from "../../ports/book.ts";
import { lineOf } from "../basics/failure.ts";
import { holeLines } from "../library/hole-lines.ts";
import { type DeriveRequest, deriveSteps, type FreshRun } from "./derive.ts";
import { type Known, matchBad, matchRuns } from "./settle.ts";

export interface BookCheck {
  readonly faults: readonly string[];
  /** What is missing in a sound book, and known to be: a device pulled, a disk that was full, a recording copied while it grew. */
  readonly holes: readonly string[];
  readonly recordings: number;
  readonly runs: number;
}

/** Path of the first difference between two values; null when they are equal. -0 equals 0, as rows do not store the sign of zero. */
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
  // A uid is a name, and the first one stays.
  const { uid: _stored, ...figures } = stored.figures;
  const { uid: _fresh, ...freshFigures } = fresh.figures;
  const samples = fresh.takeSamples();
  const differs =
    firstDifference(figures, freshFigures, "figures") ??
    firstDifference(stored.print, fresh.print, "print") ??
    firstDifference(book.samples(stored.id).samples, samples, "samples");
  return differs === null ? null : `run ${stored.id}: ${differs} differs from what its journal gives; run rederive`;
}

const UNDERIVABLE = "its runs stay readable but cannot be derived again; use a copy of the book from before";

/** An error in one part of the book becomes one more line; the other parts are still examined. */
function attempt(faults: string[], work: () => void): void {
  try {
    work();
  } catch (error) {
    if (!(error instanceof Error) || error instanceof TypeError) throw error;
    const line = `${lineOf(error)}; what rests on it is not checked`;
    if (!faults.includes(line)) faults.push(line);
  }
}

type CheckOptions = Pick<DeriveRequest, "gates" | "team">;

/** Compares every final run with what the journal gives. */
function checkRuns(book: Book, recording: Recording, faults: string[], how: CheckOptions, onShare: (share: number) => void): void {
  const calibration = book.newestCalibration(recording.id);
  // A damaged calibration is a fault by itself, and its runs cannot be compared.
  if (calibration === null || book.badCalibrations(recording.id).length > 0) return;
  const derived = drain(deriveSteps(book, recording, { calibration: calibration.calibration, ...how }), onShare);
  const stored = book.runsOf(recording.id).filter((run) => run.final && run.found);
  const matched = new Map<FreshRun, Known>(matchRuns(derived.runs, stored));
  const byId = new Map([...matched].map(([fresh, run]) => [run.id, fresh]));
  for (const run of stored) {
    const fault = runFault(book, run, byId.get(run.id));
    if (fault !== null) faults.push(fault);
  }
  matchBad(derived.runs, book.badRuns(recording.id), matched);
  const held = book.names();
  for (const fresh of derived.runs) {
    // A merged recording leaves out launches that the book has from another recording.
    if (!matched.has(fresh) && !held.has(fresh.uid))
      faults.push(
        `recording ${recording.id}: its journal gives a launch at ${fresh.figures.movementS.toFixed(1)} s that is not stored; run rederive`,
      );
  }
}

/** `onShare` is called with the share that is done, 0 to 1. */
export function checkBook(
  book: Book,
  gates: readonly Gate[],
  onShare: (share: number) => void = () => undefined,
  team: LaunchTeam = ALONE,
): BookCheck {
  const faults: string[] = [];
  const known: string[] = [];
  let recordings: readonly Recording[] = [];
  let runs = 0;
  attempt(faults, () => faults.push(...book.integrityFaults()));
  attempt(faults, () => {
    recordings = book.recordings();
  });
  for (const [i, recording] of recordings.entries()) {
    onShare(i / recordings.length);
    attempt(faults, () => {
      const holes = book.journalFaults(recording.id);
      faults.push(...holes.map((hole) => (hole.includes("; ") ? hole : `${hole}; ${UNDERIVABLE}`)));
      known.push(...holeLines(book, recording.id).map((line) => `Recording ${recording.id}: ${line}`));
      if (recording.state === "open") return;
      // Nothing is damaged: its process died, or the book was copied while it recorded.
      if (!recording.derived && recording.state === "interrupted")
        known.push(`Recording ${recording.id}: interrupted, and not derived yet; run rederive`);
      else if (!recording.derived) faults.push(`recording ${recording.id}: not derived yet; run rederive`);
      if (holes.length === 0 && recording.derived)
        checkRuns(book, recording, faults, { gates, team }, (share) => onShare((i + share) / recordings.length));
    });
  }
  attempt(faults, () => {
    runs = book.runs().length + book.badRuns(null).length;
  });
  return { faults, holes: known, recordings: recordings.length, runs };
}
