/** What was marked and noted while driving, from the journal, run by run. A recording is read once; a later run has it read again. */
import { type Moment, momentsOfRuns } from "../../../shared/run/moments.ts";
import type { Book, StoredRun } from "../../ports/book.ts";

export function runMoments(book: Book): (run: StoredRun) => readonly Moment[] {
  const known = new Map<number, Map<string, Moment[]>>();
  return ({ uid, recording }) => {
    let found = known.get(recording);
    if (found === undefined) {
      const marks = book.marks(recording);
      // Of a season most recordings have none, and reading their runs for it would grow with the square of the book.
      const runs = marks.some(({ kind }) => kind === "note") ? book.runsOf(recording).map(({ figures }) => figures) : [];
      found = momentsOfRuns(runs, marks);
      known.set(recording, found);
    }
    return found.get(uid) ?? [];
  };
}
