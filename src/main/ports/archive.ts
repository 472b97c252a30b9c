/** What the archive gets of a run: figures and samples under the names and units that people see. */
import type { RunTable } from "../../shared/report/csv.ts";
import type { ArchivedRun } from "../../shared/report/runs-table.ts";

export interface ArchiveEntry {
  readonly run: ArchivedRun;
  /** The whole stored window, names and units as people see them; NaN unknown. */
  readonly table: RunTable;
}
