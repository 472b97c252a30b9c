/** What was marked and noted while driving, from the journal, run by run. A recording is read once; a later run has it read again. */
import { type Moment, momentsOfRuns } from "../../../shared/run/moments.ts";
import { type Book, BookError, type StoredRun } from "../../ports/book.ts";

/** `all`: the book's runs, where they have been read already. */
export function runMoments(book: Book, all: readonly StoredRun[] | null = null): (run: StoredRun) => readonly Moment[] {
  const known = new Map<number, Map<string, Moment[]>>();
  const byRecording = new Map<number, StoredRun[]>();
  for (const run of all ?? []) {
    const those = byRecording.get(run.recording);
    if (those === undefined) byRecording.set(run.recording, [run]);
    else those.push(run);
  }
  const runsOf = (id: number) => byRecording.get(id) ?? book.runsOf(id);
  return ({ uid, recording }) => {
    let found = known.get(recording);
    if (found === undefined) {
      const marks = book.marks(recording);
      // Of a season most recordings have none, and reading their runs for it would grow with the square of the book.
      const runs = marks.some(({ kind }) => kind === "note") ? runsOf(recording).map(({ figures }) => figures) : [];
      found = momentsOfRuns(runs, marks);
      known.set(recording, found);
    }
    return found.get(uid) ?? [];
  };
}

/** The texts of each run's notes, for the list. Where a recording's marks are damaged it has none: the run is listed, and `show` says why. */
export function runNotes(book: Book, all: readonly StoredRun[]): (run: StoredRun) => readonly string[] {
  const moments = runMoments(book, all);
  const damaged = new Set<number>();
  return (run) => {
    if (damaged.has(run.recording)) return [];
    try {
      return moments(run).flatMap(({ text }) => (text === "" ? [] : [text]));
    } catch (error) {
      if (!(error instanceof BookError && error.code === "damaged")) throw error;
      damaged.add(run.recording);
      return [];
    }
  };
}
