/** The plan's string of slots on its canvas, the legend of its marks, and the buttons to save it. Without a plan it takes no room. */
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { stringChart } from "./plan-charts.ts";
import { paintPlanString, type StringShow } from "./plan-string.ts";
import { marksWords, slotsWords } from "./plan-words.ts";

export interface PlanFigure {
  readonly string: HTMLElement;
  readonly key: HTMLElement;
  render(): void;
}

/** `now`: the present string; null without a plan. */
export function createPlanFigure(frame: Frame, now: () => StringShow | null): PlanFigure {
  const canvas = el("canvas", { role: "img" });
  const box = el("div", { class: "plan-string" }, canvas);
  const key = el("p", { class: "small quiet" });
  const name = () => `${frame.car()}: ${now()?.plan.request.groups.join(", ") ?? ""}. ${key.textContent}`;
  const tools = createChartTools(frame, "the plan", stringChart(now, name));
  const keyRow = el("div", { class: "figure-head" }, key, tools.element);
  return {
    string: box,
    key: keyRow,
    render() {
      const show = now();
      box.hidden = show === null;
      keyRow.hidden = show === null;
      if (show === null) return;
      setText(key, marksWords(show.plan, show.groups));
      canvas.setAttribute("aria-label", slotsWords(show.plan));
      const drawn = surface(canvas);
      if (drawn !== null) paintPlanString(drawn, show, readPalette(), fontPx(box));
    },
  };
}
