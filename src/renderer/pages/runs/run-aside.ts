/** What stands beside a run's figure: values at the cursor, gates, notes about the run, and its edits, each of which can be undone. */
import { createRunEdits, type RunEdits } from "../../edits/run-edits.ts";
import type { RunRow } from "../../../shared/contract/contract.ts";
import type { Flag } from "../../../shared/run/run.ts";
import { el, replaceContent, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { ActionName } from "../../screen/key-map.ts";
import { whereDone } from "../../screen/only-shows.ts";
import type { Frame, Page } from "../../screen/page.ts";
import type { ChosenRuns } from "./chosen-runs.ts";
import type { CursorReading } from "./cursor-reading.ts";
import { launchWindow } from "./run-data.ts";
import { createReadouts } from "./readouts.ts";
import { runNotes } from "./run-notes.ts";
import type { ShownRun } from "./shown-run.ts";

export interface RunAside {
  readonly element: HTMLElement;
  readonly acts: Page["acts"];
  /** Shows the run as it is in the book, with its columns where they have come. */
  show(): void;
  at(reading: CursorReading): void;
}

export interface RunAsideOptions {
  readonly frame: Frame;
  readonly shown: ShownRun;
  /** Edits are for these where some are chosen. */
  readonly chosen: ChosenRuns;
  /** Shows a moment that was noted while driving, s from movement. */
  onMoment(atS: number): void;
}

export function createRunAside({ frame, shown, chosen, onMoment }: RunAsideOptions): RunAside {
  const readouts = createReadouts();
  const notes = el("ul", { class: "notes" });
  const edits = createRunEdits(frame);
  /** The runs that an edit is for. */
  const meant = (): readonly RunRow[] => {
    const [rows, run] = [chosen.rows(), shown.row()];
    if (chosen.ids() !== null) return rows;
    return run === undefined ? [] : [run];
  };
  const editing = (name: keyof RunEdits) => () => {
    const runs = meant();
    if (runs.length > 0) edits[name](runs).catch(frame.fail);
    else if (chosen.ids() !== null) frame.announce("No run is chosen: press the tiles of the runs that you mean");
  };
  const acts = {
    "runs.label": editing("label"),
    "runs.note": editing("note"),
    "runs.conditions": editing("conditions"),
    "runs.aside": editing("review"),
  };
  const button = (word: string, action: ActionName & keyof typeof acts) => {
    const made = el("button", { type: "button" }, word, hint(frame.keys, action));
    made.addEventListener("click", acts[action]);
    return made;
  };
  const aside = button("Set aside", "runs.aside");
  const forMany = el("span", { class: "for-many" });
  const values = { class: "values", tabindex: 0, role: "region", "aria-label": "Values, gates and notes" };
  return {
    element: el(
      "div",
      { class: "run-aside" },
      el("div", values, readouts.element, notes),
      el(
        "div",
        { class: "buttons edits" },
        forMany,
        button("Label", "runs.label"),
        button("Note", "runs.note"),
        button("Conditions", "runs.conditions"),
        aside,
      ),
      el("p", { class: "at-laptop" }, whereDone("Label, note and set aside")),
    ),
    acts,
    show() {
      const [run, data] = [shown.row(), shown.data()];
      const edited = meant();
      aside.firstChild?.replaceWith(edited.length > 0 && edited.every(({ use }) => !use) ? "Use again" : "Set aside");
      setText(forMany, chosen.ids() === null ? "" : edited.length === 1 ? `For run ${edited[0]?.id}:` : `For ${edited.length} runs:`);
      if (run === undefined || data === null) return;
      readouts.show(data);
      const onOverrule = (flag: Flag) => void edits.overrule(run, flag).catch(frame.fail);
      replaceContent(notes, runNotes(run, data.view, { onOverrule, onMoment, figure: launchWindow(data) }));
    },
    at: readouts.at,
  };
}
