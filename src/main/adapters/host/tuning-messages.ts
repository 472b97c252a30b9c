/** Messages between the measuring thread and the tuning thread. */
import type { RunTuneView, SpinView, TuneView } from "../../../shared/contract/tune-views.ts";
import type { RunTuneAsked, SpinAsked, TuneAsked } from "../../ports/tuning.ts";

/** `file`: the book's present file; it may have moved since the last question. */
export type TuningQuestion = { readonly id: number; readonly file: string } & (
  | { readonly name: "read"; readonly asked: TuneAsked }
  | { readonly name: "run"; readonly asked: RunTuneAsked }
  | { readonly name: "spin"; readonly asked: SpinAsked }
);

/** `cancel`: the question that nobody waits for any more. */
export type ToTuning = TuningQuestion | { readonly cancel: number };

export type FromTuning =
  | { readonly id: number; readonly step: string; readonly share: number }
  | { readonly id: number; readonly ok: true; readonly answer: TuneView | RunTuneView | SpinView }
  | { readonly id: number; readonly ok: false; readonly error: string };
