/**
 * The run selected on the strips: described in words, set aside or used again with a reason. Without a selection the buttons say what to
 * do.
 */
import { apart } from "../../../shared/judge/wording.ts";
import { reviewRuns } from "../../edits/run-edits.ts";
import type { StripsNow } from "../../figures/strip-charts.ts";
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";
import { spokenRun } from "./typical-prints.ts";

export interface PickedMark {
  readonly element: HTMLElement;
  run(): number | null;
  /** Keeps the selection if the run is still there. */
  show(now: StripsNow): void;
  /** null: none. */
  pick(id: number | null): void;
  /** To the run before or after in driving order. */
  step(by: number): void;
  /** `use` true: uses it again; false: sets it aside. */
  review(use: boolean): Promise<void>;
}

/** `tools`: shown beside the buttons. `onPick`: another run was selected. */
export function createPickedMark(frame: Frame, tools: HTMLElement, onPick: () => void): PickedMark {
  let shown: StripsNow | null = null;
  let selected: number | null = null;
  const words = el("p", { class: "small chosen", role: "status" });
  const aside = keyButton(frame.keys, "Set runs aside", "compare.aside", () => mark.review(false));
  const back = keyButton(frame.keys, "Use again", "compare.takeBack", () => mark.review(true));
  const picked = () => shown?.runs.find((run) => run.id === selected);

  const mark: PickedMark = {
    element: el("div", { class: "picked" }, words, el("div", { class: "buttons" }, aside, back, tools)),
    run: () => selected,
    show(now) {
      shown = now;
      mark.pick(picked()?.id ?? null);
    },
    pick(id) {
      selected = id;
      const run = picked();
      const label = shown === null || run === undefined ? "" : (apart([shown.pair.a.label, shown.pair.b.label])[run.group] ?? "");
      setText(words, run === undefined ? "Click a run, or arrow keys" : spokenRun(run.id, label, run.seconds, run.aside));
      aside.setAttribute("aria-disabled", String(run === undefined || run.aside));
      back.setAttribute("aria-disabled", String(run === undefined || !run.aside));
      onPick();
    },
    step(by) {
      const runs = shown?.runs ?? [];
      const at = runs.findIndex((run) => run.id === selected);
      const next = runs[at < 0 ? (by > 0 ? 0 : runs.length - 1) : Math.min(runs.length - 1, Math.max(0, at + by))];
      mark.pick(next?.id ?? null);
    },
    async review(use) {
      const run = picked();
      if (run === undefined || run.aside !== use)
        return frame.announce(use ? "Pick a run that is set aside" : "Pick a run with the arrow keys");
      const row = frame.runs().find(({ id }) => id === run.id);
      if (row !== undefined) await reviewRuns(frame, [row]);
    },
  };
  return mark;
}
