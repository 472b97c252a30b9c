/** What an MCAP file gets of a run: all that `show` says, and its samples under the names and units that people see. */
import type { RunView } from "../../shared/contract/run-views.ts";
import type { RunTable } from "../../shared/report/csv.ts";

export interface McapRun {
  readonly view: RunView;
  readonly car: string | null;
  /** UTC of start "movement", ms since 1970. */
  readonly movementUtcMs: number;
  /** False: `movementUtcMs` is by the clock of the recording, as the receiver gave no date. */
  readonly byReceiver: boolean;
  readonly table: RunTable;
  readonly softwareVersion: string;
}
