/** Selects one chart of the report, with the buttons to save it. Hidden while there is none. */
import { createChartTools } from "../../screen/chart-tools.ts";
import { el } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import type { NamedChart } from "./report-charts.ts";

export interface ChartChoice {
  readonly element: HTMLElement;
  /** The chosen chart stays chosen, by its place in the list. */
  show(charts: readonly NamedChart[]): void;
}

export function createChartChoice(frame: Frame): ChartChoice {
  let charts: readonly NamedChart[] = [];
  const select = el("select");
  const chosen = () => charts[select.selectedIndex]?.chart ?? null;
  const tools = createChartTools(frame, "chosen on the left", {
    name: () => chosen()?.name() ?? "chart",
    title: () => chosen()?.title() ?? "",
    picture: () => chosen()?.picture() ?? null,
    table: () => chosen()?.table() ?? null,
  });
  const element = el("div", { class: "chart-choice small" }, el("label", { class: "row" }, "One chart of it", select), tools.element);
  return {
    element,
    show(found) {
      charts = found;
      const at = Math.max(0, select.selectedIndex);
      select.replaceChildren(...charts.map(({ what }) => el("option", {}, what)));
      select.selectedIndex = Math.min(at, charts.length - 1);
      element.hidden = charts.length === 0;
    },
  };
}
