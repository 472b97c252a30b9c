/** The run picked on the strips: said in words, set aside or taken back with a reason. Without one the buttons say what to do. */
import { apart } from "../../../shared/judge/wording.ts";
import { reviewRun } from "../../edits/run-edits.ts";
import type { StripsNow } from "../../figures/strip-charts.ts";
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";
import { spokenRun } from "./typical-prints.ts";

export interface PickedMark {
  readonly element: HTMLElement;
  run(): number | null;
  /** Keeps what was picked where it is still among the runs. */
  show(now: StripsNow): void;
  /** null: none. */
  pick(id: number | null): void;
  /** To the run before or after in the order driven. */
  step(by: number): void;
  /** `use`: takes it back; else sets it aside. */
  review(use: boolean): Promise<void>;
}

/** `tools`: stand beside the buttons. `onPick`: another run is to be framed. */
export function createPickedMark(frame: Frame, tools: HTMLElement, onPick: () => void): PickedMark {
  let shown: StripsNow | null = null;
  let selected: number | null = null;
  const words = el("p", { class: "small chosen", role: "status" });
  const aside = keyButton(frame.keys, "Set runs aside", "compare.aside", () => mark.review(false));
  const back = keyButton(frame.keys, "Take back", "compare.takeBack", () => mark.review(true));
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
      if (row !== undefined) await reviewRun(frame, row);
    },
  };
  return mark;
}
