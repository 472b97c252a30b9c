/** What Compare says above its figures: the verdict in two sentences, the gate, what speaks against it, and the gain with every run in. */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import type { Comparison } from "../../../shared/judge/judged-run.ts";
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame } from "../../screen/page.ts";
import { beside, evidence, headline, warningWords } from "./compare-words.ts";

export interface CompareHead {
  readonly sentence: HTMLElement;
  /** Warnings, and the gain with every run in. */
  readonly against: readonly HTMLElement[];
  /** The verdict as one text. */
  said(): string;
  /** Its first sentence. */
  title(): string;
  /** Before anything was compared. */
  wait(): void;
  /** `pair`: null where nothing can be compared; the view says why. */
  show(view: CompareView, pair: Comparison | null): void;
  turnWarnings(): void;
}

export function createCompareHead(frame: Frame, nextGate: () => void): CompareHead {
  const title = el("h1");
  const second = el("p", { class: "lead" });
  const gate = keyButton(frame.keys, "Gate", "compare.gate", nextGate);
  const report = keyButton(frame.keys, "Report", "compare.report", () => frame.go("report"));
  const notes = createFold(frame.keys, "compare.warnings", "warning");
  const besideLine = el("p", { class: "small" });
  return {
    sentence: el("div", { class: "sentence" }, el("div", {}, title, second), el("div", { class: "beside" }, gate, report)),
    against: [notes.element, besideLine],
    said: () => `${title.textContent} ${second.textContent}`,
    title: () => title.textContent ?? "",
    wait() {
      setText(title, "Comparing the runs.");
      for (const part of [gate, report]) part.hidden = true;
    },
    show(view, pair) {
      setText(gate.firstElementChild as Element, view.start === "1 ft" ? `${gateName(view.gate)} from 1 ft` : gateName(view.gate));
      gate.hidden = false;
      report.hidden = pair === null;
      besideLine.hidden = pair === null || pair.withAllRuns === null;
      setText(title, pair === null ? "Nothing to compare yet." : headline(pair));
      setText(second, pair === null ? (view.why ?? "") : evidence(pair));
      notes.show(pair === null ? [] : warningWords(pair));
      if (pair !== null) setText(besideLine, beside(pair));
    },
    turnWarnings: () => notes.turn(),
  };
}
