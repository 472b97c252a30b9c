/**
 * The figures of a comparison: every value with the selected run, a typical print for each group, what to try next, and the driving order
 * with its drift.
 */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { stripCharts, type StripsNow } from "../../figures/strip-charts.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import type { CompareHead } from "./compare-head.ts";
import { createCompareStrips } from "./compare-strips.ts";
import { createDriftSection } from "./drift-section.ts";
import { createPickedMark, type PickedMark } from "./picked-mark.ts";
import { createTryNext } from "./try-next.ts";
import { createTypicalPrints } from "./typical-prints.ts";

export interface CompareFigures {
  readonly element: HTMLElement;
  readonly picked: PickedMark;
  /** `adjusted`: the difference is shown with drift removed. */
  show(view: CompareView, strips: StripsNow, adjusted: boolean): void;
}

export interface CompareFiguresOptions {
  readonly frame: Frame;
  readonly head: CompareHead;
  /** null while nothing is compared. */
  now(): StripsNow | null;
  /** Removes the drift from the difference, or leaves it in. */
  turnAdjusted(): void;
}

export function createCompareFigures({ frame, now, head, turnAdjusted }: CompareFiguresOptions): CompareFigures {
  const strips = createCompareStrips((run) => picked.pick(run));
  const charts = stripCharts(now, () => `${frame.car()}: ${head.said()}`);
  const valueTools = createChartTools(frame, "every value", charts.values);
  const orderTools = createChartTools(frame, "the order driven", charts.order);
  const picked = createPickedMark(frame, valueTools.element, paint);
  const prints = createTypicalPrints(frame, () => `${frame.car()}: ${head.title()}`);
  const drift = createDriftSection({ keys: frame.keys, strip: strips.order, tools: orderTools.element, turnAdjusted });
  const tryNext = createTryNext(frame);
  function paint(): void {
    const shown = now();
    if (shown !== null) strips.paint({ ...shown, selected: picked.run() });
  }
  return {
    element: el(
      "div",
      { class: "compare-body" },
      el("div", {}, strips.values, picked.element, prints.element),
      el("div", { class: "compare-aside" }, tryNext.element, drift.element),
    ),
    picked,
    show(view, shown, adjusted) {
      const labels = [shown.pair.a.label, shown.pair.b.label];
      drift.show(shown.pair, adjusted);
      void tryNext.ask(view, labels);
      strips.describe(shown.pair, shown.runs);
      prints.show(view, { rows: frame.runs(), labels, marks: shown.marks, scales: dayScales(frame.runs()) });
      picked.show(shown);
    },
  };
}
