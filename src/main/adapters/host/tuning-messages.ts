/** What goes between the measuring thread and the tuning thread. */
import type { RunTuneView, TuneView } from "../../../shared/contract/tune-views.ts";
import type { RunTuneAsked, TuneAsked } from "../../ports/tuning.ts";

/** `file`: where the book is now; it may have moved since the last question. */
export type ToTuning = { readonly id: number; readonly file: string } & (
  | { readonly name: "read"; readonly asked: TuneAsked }
  | { readonly name: "run"; readonly asked: RunTuneAsked }
);

export type FromTuning =
  | { readonly id: number; readonly ok: true; readonly answer: TuneView | RunTuneView }
  | { readonly id: number; readonly ok: false; readonly error: string };
