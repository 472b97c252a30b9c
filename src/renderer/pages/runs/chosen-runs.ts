/**
 * Several runs chosen on the shelf, so that one label, note or line of conditions is for all of them. They stay chosen, whatever run is shown, until a person
 * is done with them.
 */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { overNetwork } from "../../bridge/over-network.ts";
import { el, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { runNumbers } from "./run-numbers.ts";

export interface ChosenRuns {
  /** What is chosen, and how it ends; hidden while nothing is. */
  readonly bar: HTMLElement;
  /** Begins it. */
  readonly button: HTMLElement;
  readonly acts: Page["acts"];
  /** Null while no runs are being chosen. */
  ids(): ReadonlySet<number> | null;
  /** The chosen ones that are in the book, in its order. */
  rows(): readonly RunRow[];
  /** A tile was pressed; false where that is to show its run. */
  pressed(id: number, event: MouseEvent): boolean;
  /** No run is chosen any more; false where none was. */
  end(): boolean;
  /** Words and buttons, for the runs that stand on the shelf. */
  show(): void;
}

export interface ChosenRunsOptions {
  readonly frame: Frame;
  /** Runs on the shelf, oldest first. */
  shelved(): readonly RunRow[];
  /** The run that is shown. */
  shown(): number | null;
  onChange(): void;
}

/** Numbers in the bar are words that can be read at a glance; of more runs it says how many. */
const LONGEST_NUMBERS = 48;

function wordsOf(rows: readonly RunRow[], elsewhere: number): string {
  if (rows.length === 0) return "Press the tiles of the runs that you mean";
  const numbers = runNumbers(rows.map(({ id }) => id));
  const listed = numbers.length > LONGEST_NUMBERS ? "" : `: ${numbers}`;
  const hidden = elsewhere === 0 ? "" : `; ${elsewhere} of them not among the tiles now`;
  return `${rows.length} ${rows.length === 1 ? "run" : "runs"} chosen${listed}${hidden}. Label, note, conditions and set aside are for all of them.`;
}

export function createChosenRuns({ frame, shelved, shown, onChange }: ChosenRunsOptions): ChosenRuns {
  /** Null: a pressed tile shows its run. */
  let ids: ReadonlySet<number> | null = null;
  /** Where a press with Shift begins. */
  let last: number | null = null;

  const words = el("span", { role: "status" });
  const allWord = el("span");
  const all = el("button", { type: "button" }, allWord, hint(frame.keys, "runs.choose", "Shift+"));
  all.addEventListener("click", () => chooseAll());
  const done = el("button", { type: "button" }, "Done", el("kbd", {}, "Esc"));
  done.addEventListener("click", () => end());
  const bar = el("div", { class: "chosen-bar small", hidden: true }, words, all, done);
  const button = el("button", { type: "button" }, "Choose", hint(frame.keys, "runs.choose"));
  button.addEventListener("click", () => (ids === null ? set(new Set()) : end()));

  function set(next: ReadonlySet<number> | null): void {
    ids = next;
    onChange();
  }

  /** As in lists of files: what is shown is chosen too where the first press is with a key held. */
  const begun = () => ids ?? new Set(shown() === null ? [] : [shown() as number]);

  function turn(id: number): void {
    const next = new Set(ids ?? []);
    if (!next.delete(id)) next.add(id);
    last = id;
    set(next);
  }

  function upTo(id: number): void {
    const shelf = shelved().map((run) => run.id);
    const [a, b] = [shelf.indexOf(last ?? shown() ?? id), shelf.indexOf(id)].sort((x, y) => x - y) as [number, number];
    set(new Set([...begun(), ...shelf.slice(Math.max(0, a), b + 1)]));
    last = id;
  }

  /** All that stand on the shelf; or none, where all are chosen already. */
  function chooseAll(): void {
    const shelf = shelved().map((run) => run.id);
    const every = ids !== null && shelf.every((id) => ids?.has(id));
    set(every ? new Set([...(ids ?? [])].filter((id) => !shelf.includes(id))) : new Set([...(ids ?? []), ...shelf]));
  }

  function end(): boolean {
    if (ids === null) return false;
    last = null;
    set(null);
    frame.announce("No run is chosen any more");
    return true;
  }

  const rows = () => frame.runs().filter((run) => ids?.has(run.id));

  return {
    bar,
    button,
    acts: {
      "runs.choose"({ shiftKey }) {
        const id = shown();
        if (shiftKey) chooseAll();
        else if (id !== null) turn(id);
      },
    },
    ids: () => ids,
    rows,
    pressed(id, { shiftKey, ctrlKey, metaKey }) {
      // A screen in the network shows, and edits nothing.
      if (overNetwork() || !(ids !== null || shiftKey || ctrlKey || metaKey)) return false;
      if (shiftKey) upTo(id);
      else {
        ids = begun();
        turn(id);
      }
      return true;
    },
    end,
    show() {
      bar.hidden = ids === null;
      button.setAttribute("aria-pressed", String(ids !== null));
      if (ids === null) return;
      const [chosen, shelf] = [rows(), shelved()];
      setText(words, wordsOf(chosen, chosen.filter((run) => !shelf.includes(run)).length));
      const every = shelf.length > 0 && shelf.every((run) => ids?.has(run.id));
      setText(allWord, every ? "No tile" : "All tiles");
    },
  };
}
