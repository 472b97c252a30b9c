/** What requests about the set-up work on: the set-up being made, what was heard on the ports, and the only way to change it. */
import type { WorkName } from "../../../shared/contract/contract.ts";
import type { SetUpEdited } from "../../../shared/contract/wiring-contract.ts";
import type { Calibration } from "../../../shared/align/calibration.ts";
import type { LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import type { RoleMemory } from "../../../shared/wiring/role-memory.ts";
import type { WiringTap } from "../../../shared/wiring/wiring-tap.ts";
import type { DraftSetUp } from "../../../shared/setup/draft-set-up.ts";
import type { Book, Stream } from "../../ports/book.ts";
import type { SourceReport } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import type { HeardPort, Listening, PortEars, SetUpStore } from "../../ports/set-up-desk.ts";
import type { GuidedDrive } from "../recording/guided-drive.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";

export interface WiringDesk {
  readonly book: Book;
  readonly clock: Clock;
  readonly ears: PortEars;
  /** Who times launches while nothing is measured. */
  readonly team: LaunchTeam;
  readonly store: SetUpStore | null;
  readonly draft: DraftSetUp;
  /** Null while something is missing. */
  readonly ready: ReadySetUp | null;
  /** Why a complete set-up cannot be used; null when it can. */
  readonly problem: string | null;
  readonly tap: WiringTap;
  /** What driving has confirmed of the chosen signals. */
  readonly memory: RoleMemory;
  /** The calibration that this recording has fitted so far; null where it has fitted none. */
  readonly fitted: Calibration | null;
  readonly guided: GuidedDrive;
  readonly reports: ReadonlyMap<Stream, SourceReport>;
  /** When the ports were opened, the clock's monotonic ns. */
  readonly openedNs: number;
  /** What listening found on each source's port. */
  readonly heard: Map<Stream, HeardPort>;
  /** Changes the set-up with both ports closed, stores it, and starts a new core. Returns the way back. */
  edit(change: (before: DraftSetUp) => DraftSetUp | Promise<DraftSetUp>): Promise<SetUpEdited>;
  /** Closes the ports and the recording, does the work, opens them again. */
  whileClosed(work: () => Promise<void>): Promise<void>;
  useOwnCar(): Promise<string>;
  /** Long work: its progress goes to the screens, and a person may cancel it; it then rejects, and what it changed is restored. */
  work<T>(name: WorkName, run: (listening: Listening) => Promise<T>): Promise<T>;
  /** Resolves when that work is over. */
  cancel(name: WorkName): Promise<void>;
}
