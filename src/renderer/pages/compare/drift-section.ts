/**
 * The values in driving order: their strip, what it shows about drift, and the button that removes drift from the difference. With too few
 * runs it says so.
 */
import type { Comparison } from "../../../shared/judge/judged-run.ts";
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { driftWords } from "./compare-words.ts";

export interface DriftSection {
  readonly element: HTMLElement;
  /** `adjusted`: the difference is shown with drift removed. */
  show(pair: Comparison, adjusted: boolean): void;
}

export interface DriftSectionOptions {
  readonly keys: KeyMap;
  readonly strip: HTMLElement;
  readonly tools: HTMLElement;
  turnAdjusted(): void;
}

export function createDriftSection({ keys, strip, tools, turnAdjusted }: DriftSectionOptions): DriftSection {
  const drift = el("p", { class: "small" });
  const adjust = keyButton(keys, "Drift taken out", "compare.adjust", turnAdjusted);
  return {
    element: el(
      "section",
      {},
      el("div", { class: "figure-head" }, el("h2", {}, "In the order driven"), tools),
      strip,
      drift,
      el("div", { class: "buttons" }, adjust),
    ),
    show(pair, adjusted) {
      const on = adjusted && pair.drift !== null;
      adjust.setAttribute("aria-disabled", String(pair.drift === null));
      adjust.setAttribute("aria-pressed", String(on));
      setText(adjust.firstElementChild as Element, on ? "As driven" : "Drift taken out");
      setText(drift, driftWords(pair));
    },
  };
}
