/** The parts that a core with screens is made of, and its own interface. */
import type { Answers, CoreEvent, CoreRequestName, RequestArgument } from "../../../shared/contract/contract.ts";
import type { LaunchTeam } from "../../../shared/pipeline/launch-team.ts";
import type { SetUp } from "../../../shared/setup/set-up.ts";
import type { Book } from "../../ports/book.ts";
import type { ByteSource } from "../../ports/byte-source.ts";
import type { Clock } from "../../ports/clock.ts";
import type { LastCar, PortEars, SetUpStore } from "../../ports/set-up-desk.ts";
import type { ReadySetUp } from "../basics/read-set-up.ts";
import type { Core } from "../core.ts";

interface CoreParts {
  readonly book: Book;
  readonly ready: ReadySetUp;
  readonly sources: readonly ByteSource[];
  readonly setUpFile: string | null;
  readonly emit: (event: CoreEvent) => void;
}

export interface WiringCoreOptions {
  readonly book: Book;
  readonly clock: Clock;
  readonly ears: PortEars;
  /** Who times launches while nothing is measured; absent: this thread. */
  readonly team?: LaunchTeam;
  readonly emit: (event: CoreEvent) => void;
  /** Null while the car is simulated. */
  readonly store: SetUpStore | null;
  readonly simulated: ReadySetUp | null;
  readonly makeCore: (parts: CoreParts) => Core;
  readonly makeSources: (sources: SetUp["sources"] | null) => ByteSource[];
  /** The set-up and the book of the person's own car. */
  readonly openOwn: () => { readonly store: SetUpStore; readonly book: Book };
  /** What `openOwn` would open, if it was measured before. */
  readonly lastCar: () => LastCar | null;
}

/** A core that answers everything. */
export interface WiringCore extends Omit<Core, "answers" | "fitted"> {
  /** `argument` was checked where it came in. Rejects with one line. */
  request<N extends CoreRequestName>(name: N, argument: RequestArgument<N>): Promise<Answers[N]>;
}
