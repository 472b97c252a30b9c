/**
 * What Time lost advises for the compared groups, as a hint. The comparison does not wait for it; an answer to an older question is
 * dropped.
 */
import { changeTitle, gainTitle } from "../../figures/advice-words.ts";
import { el } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";

export interface TryNext {
  readonly element: HTMLElement;
  ask(groups: readonly string[], gate: string): Promise<void>;
}

/** Where there is no advice, at most this many reasons. */
const MOST_REASONS = 2;

export function createTryNext(frame: Frame): TryNext {
  let asked = "";
  const hints = el("div", { class: "hints small" });
  const toLost = keyButton(frame.keys, "Where the time went", "compare.lost", () => frame.go("lost"));
  return {
    element: el(
      "section",
      {},
      el("div", { class: "figure-head" }, el("h2", {}, "What to try next"), el("span", { class: "quiet small" }, "a hint, not a result")),
      hints,
      el("div", { class: "buttons" }, toLost),
    ),
    async ask(groups, gate) {
      const wanted = JSON.stringify([groups, gate, frame.runs().length]);
      asked = wanted;
      const tuned = await frame.bridge.request("tune.read", { groups: [...groups], gate }).catch((error: unknown) => {
        frame.fail(error);
        return null;
      });
      if (tuned === null || asked !== wanted) return;
      const lines = tuned.advice.map((one) => el("p", {}, el("b", {}, `${one.group}. `), `${changeTitle(one)}: ${gainTitle(one)}.`));
      hints.replaceChildren(...(lines.length > 0 ? lines : tuned.silent.slice(0, MOST_REASONS).map((words) => el("p", {}, words))));
    },
  };
}
