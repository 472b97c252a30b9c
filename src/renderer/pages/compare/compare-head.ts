/** The upper part of Compare: the verdict in two sentences, the gate, the warnings, and the gain with every run included. */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import type { Comparison } from "../../../shared/judge/judged-run.ts";
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";
import { beside, evidence, headline, nothingWords, warningWords, withinWords } from "./compare-words.ts";

export interface CompareHead {
  readonly sentence: HTMLElement;
  /** What runs were compared within, warnings, and the gain with every run in. */
  readonly against: readonly HTMLElement[];
  /** The verdict as one text. */
  said(): string;
  /** The verdict's first sentence. */
  title(): string;
  /** The state before anything was compared. */
  wait(): void;
  /** `pair`: null where nothing can be compared; the view says why. */
  show(view: CompareView, pair: Comparison | null): void;
  turnWarnings(): void;
}

const nothingTitle = ({ where }: CompareView) => (where.length === 0 ? "Nothing to compare yet." : "Nothing to compare among these runs.");

export function createCompareHead(frame: Frame, nextGate: () => void, chooseRuns: () => void): CompareHead {
  const title = el("h1");
  const second = el("p", { class: "lead" });
  const gate = keyButton(frame.keys, "Gate", "compare.gate", nextGate);
  const report = keyButton(frame.keys, "Report", "compare.report", () => frame.go("report"));
  const only = keyButton(frame.keys, "Runs", "compare.only", chooseRuns);
  const notes = createFold(frame.keys, "compare.warnings", "warning");
  const besideLine = el("p", { class: "small" });
  const withinLine = el("p", { class: "small within" });
  return {
    sentence: el("div", { class: "sentence" }, el("div", {}, title, second), el("div", { class: "beside" }, gate, only, report)),
    against: [withinLine, notes.element, besideLine],
    said: () => `${title.textContent} ${second.textContent}`,
    title: () => title.textContent ?? "",
    wait() {
      setText(title, "Comparing the runs.");
      for (const part of [gate, only, report]) part.hidden = true;
    },
    show(view, pair) {
      setText(gate.firstElementChild as Element, view.start === "1 ft" ? `${gateName(view.gate)} from 1 ft` : gateName(view.gate));
      gate.hidden = false;
      only.hidden = false;
      report.hidden = pair === null;
      besideLine.hidden = pair === null || pair.withAllRuns === null;
      setText(title, pair === null ? nothingTitle(view) : headline(pair));
      setText(second, pair === null ? nothingWords(view, frame.keys.shown("compare.only")) : evidence(pair));
      notes.show(pair === null ? [] : warningWords(pair));
      setText(withinLine, withinWords(pair, view.where));
      withinLine.hidden = withinLine.textContent === "";
      if (pair !== null) setText(besideLine, beside(pair));
    },
    turnWarnings: () => notes.turn(),
  };
}
