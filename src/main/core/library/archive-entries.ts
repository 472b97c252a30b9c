/** Runs of a book as the archive keeps them. A run that is not there throws BookError. */
import type { ArchiveEntry } from "../../ports/archive.ts";
import type { Book } from "../../ports/book.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import { runTable } from "./run-columns.ts";

export function* archiveEntries(book: Book, runs: readonly number[], softwareVersion: string): Generator<ArchiveEntry> {
  for (const id of runs) {
    const run = book.run(id);
    const { car } = parseSetUp(book.recording(run.recording).setUp.text, `Set-up of recording ${run.recording}`);
    const calibration = run.calibration === null ? null : book.calibration(run.calibration).calibration;
    const { uid, label, use, note, final, conditions, figures } = run;
    const { rollingRadiusM = null, gnssDelayS = null } = calibration ?? {};
    const known = { uid, label, use, note, final, conditions, rollingRadiusM, gnssDelayS, car: car.name, softwareVersion };
    yield { run: { ...figures, ...known }, table: runTable(book.samples(id), figures.movementS) };
  }
}
