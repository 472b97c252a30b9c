/** Runs of a book in the form of the archive. An unknown run throws BookError. */
import type { ArchiveEntry } from "../../ports/archive.ts";
import type { Book } from "../../ports/book.ts";
import { parseSetUp } from "../../../shared/setup/set-up-text.ts";
import type { RunTune } from "../../../shared/report/run-tune.ts";
import type { ArchivedRun } from "../../../shared/report/runs-table.ts";
import { runTable } from "./run-columns.ts";

interface ToArchive {
  readonly runs: readonly number[];
  readonly tuneOf: (run: number) => RunTune;
  readonly softwareVersion: string;
}

/** Figures alone. */
export function archivedRun(book: Book, id: number, { tuneOf, softwareVersion }: Omit<ToArchive, "runs">): ArchivedRun {
  const run = book.run(id);
  const { car } = parseSetUp(book.recording(run.recording).setUp.text, `Set-up of recording ${run.recording}`);
  const calibration = run.calibration === null ? null : book.calibration(run.calibration).calibration;
  const { uid, label, use, note, final, conditions, figures } = run;
  const { rollingRadiusM = null, gnssDelayS = null } = calibration ?? {};
  const known = { uid, label, use, note, final, conditions, rollingRadiusM, gnssDelayS, car: car.name, softwareVersion };
  return { ...figures, ...known, tune: tuneOf(id) };
}

export function* archiveEntries(book: Book, { runs, ...from }: ToArchive): Generator<ArchiveEntry> {
  for (const id of runs) yield { run: archivedRun(book, id, from), table: runTable(book.samples(id), book.run(id).figures.movementS) };
}
