/**
 * Where the time went and what to change next, computed from a book somewhere where measuring does not wait for it. Each question rejects
 * with one line.
 */
import type { RunTuneView, SpinView, TuneView } from "../../shared/contract/tune-views.ts";
import type { Listening } from "./set-up-desk.ts";

export interface TuneAsked {
  readonly groups?: readonly string[] | undefined;
  readonly gate?: string | undefined;
  /** Only runs for which all these terms hold. */
  readonly where?: readonly string[] | undefined;
}

export interface RunTuneAsked {
  readonly run: number;
  readonly gate?: string | undefined;
}

export interface SpinAsked {
  readonly group?: string | undefined;
  readonly gate?: string | undefined;
  readonly where?: readonly string[] | undefined;
}

export interface Tuning {
  /** Tells `listening` how far it is; aborted, it is rejected with the signal's reason. */
  read(asked: TuneAsked, listening?: Listening): Promise<TuneView>;
  run(asked: RunTuneAsked): Promise<RunTuneView>;
  spin(asked: SpinAsked): Promise<SpinView>;
  /** Ends questions that are running; they are rejected with a reason. */
  close(): void;
}
