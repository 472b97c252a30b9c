/**
 * Which groups are compared: two by name, or every pair of several; with several pairs, which one is shown. With two labels there is
 * nothing to choose.
 */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import { el } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { pairChanceWords } from "../../../shared/judge/verdict.ts";

export interface CompareChoice {
  readonly element: HTMLElement;
  show(view: CompareView, pairAt: number): void;
  /** Every group that has a time; null where there are only two. */
  every(): string[] | null;
}

/** `onGroups` asks for another comparison; `onPair` shows another pair of this one. */
export function createCompareChoice(keys: KeyMap, onGroups: (groups: string[]) => void, onPair: (at: number) => void): CompareChoice {
  const selects = el("div", { class: "group-choice", hidden: true });
  const pairs = el("div", { class: "buttons pairs", hidden: true });
  let labels: CompareView["labels"] = [];

  const every = () => (labels.length < 3 ? null : labels.filter(({ runs }) => runs > 0).map(({ label }) => label));

  function showSelects(view: CompareView, pairAt: number): void {
    selects.hidden = labels.length < 3;
    if (selects.hidden) return;
    const shown = view.pairs[pairAt];
    const made = [shown?.a.label, shown?.b.label].map((label, i) => {
      const select = el("select", {}, ...labels.map((known) => el("option", { value: known.label }, `${known.label} (${known.runs})`)));
      select.value = label ?? labels[i]?.label ?? "";
      return { select, label: el("label", { class: "row" }, i === 0 ? "First group" : "Second group", select) };
    });
    for (const { select } of made)
      select.addEventListener("change", () => {
        const groups = made.map((one) => one.select.value);
        if (groups[0] !== groups[1]) onGroups(groups);
      });
    const all = el("button", { type: "button" }, el("span", {}, "Every pair"), hint(keys, "compare.every"));
    all.addEventListener("click", () => onGroups(every() ?? []));
    selects.replaceChildren(...made.map(({ label }) => label), all);
  }

  return {
    element: el("div", { class: "choosing" }, selects, pairs),
    show(view, pairAt) {
      labels = view.labels;
      showSelects(view, pairAt);
      pairs.hidden = view.pairs.length < 2;
      const made = view.pairs.map((pair, i) => {
        const button = el(
          "button",
          { type: "button", "aria-pressed": String(i === pairAt) },
          `${pair.b.label} against ${pair.a.label}: ${pairChanceWords(pair, view.pairs.length)}`,
        );
        button.addEventListener("click", () => onPair(i));
        return button;
      });
      pairs.replaceChildren(...made);
    },
    every,
  };
}
