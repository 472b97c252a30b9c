/** Where the time went and what to change next, worked out of a book wherever measuring does not wait for it. Each question rejects with one line. */
import type { RunTuneView, TuneView } from "../../shared/contract/tune-views.ts";

export interface TuneAsked {
  readonly groups?: readonly string[] | undefined;
  readonly gate?: string | undefined;
}

export interface RunTuneAsked {
  readonly run: number;
  readonly gate?: string | undefined;
}

export interface Tuning {
  read(asked: TuneAsked): Promise<TuneView>;
  run(asked: RunTuneAsked): Promise<RunTuneView>;
  /** Ends what is under way, unanswered but for a reason. */
  close(): void;
}
