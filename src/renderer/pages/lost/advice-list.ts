/**
 * Pieces of advice side by side, the largest expected gain first, each with the key that proposes its test. Where there is none, the page
 * says what would help.
 */
import type { Advice } from "../../../shared/tune/advise.ts";
import { el } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { ActionName, KeyMap } from "../../screen/key-map.ts";
import { changeTitle, gainTitle, ownWords } from "../../figures/advice-words.ts";

const ACTIONS = ["lost.first", "lost.second", "lost.third"] as const satisfies readonly ActionName[];

export interface AdviceList {
  readonly element: HTMLElement;
  show(advice: readonly Advice[], groups: number): void;
}

export function createAdviceList(keys: KeyMap, onTest: (advice: Advice) => void): AdviceList {
  const list = el("div", { class: "advice-list" });
  const one = (advice: Advice, i: number, groups: number) => {
    const test = el("button", { type: "button" }, el("span", {}, "Draw up its test"), hint(keys, ACTIONS[i] ?? "lost.first"));
    if (i === 0) test.classList.add("solid");
    test.addEventListener("click", () => onTest(advice));
    return el(
      "article",
      { class: "advice small" },
      el("h3", {}, changeTitle(advice)),
      el("p", { class: "gain" }, gainTitle(advice)),
      el("p", {}, groups > 1 ? el("b", {}, `${advice.group}. `) : "", `${advice.seen}${ownWords(advice)}`),
      test,
    );
  };
  return {
    element: el(
      "section",
      { class: "ruled advised" },
      el(
        "div",
        { class: "figure-head" },
        el("h2", {}, "What to change next: one thing at a time, and nothing else"),
        el("span", { class: "quiet small" }, "Gripbook changes nothing in the car"),
      ),
      list,
    ),
    show(advice, groups) {
      list.replaceChildren(
        ...(advice.length === 0
          ? [el("p", { class: "small" }, "No advice yet; the notes say what would help.")]
          : advice.map((each, i) => one(each, i, groups))),
      );
    },
  };
}
