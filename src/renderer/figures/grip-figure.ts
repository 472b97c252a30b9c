/** The grip curve as a figure that can be saved. Where a surface's curve is unknown, it shows the measured values; the page says why. */
import { type HeldAt, paintGrip } from "../../shared/draw/grip-painter.ts";
import { frictionAt, type GripCurve } from "../../shared/tune/grip-curve.ts";
import type { ChartTable } from "../draw/chart-table.ts";
import { createChartTools } from "../screen/chart-tools.ts";
import { el, setText } from "../screen/dom.ts";
import type { Frame } from "../screen/page.ts";
import { gripChart } from "./grip-chart.ts";
import { createHouseChart } from "./house-chart.ts";

export interface GripFigure {
  readonly element: HTMLElement;
  show(curve: GripCurve | null, held: readonly HeldAt[]): void;
}

const SAVED = { width: 900, height: 480, px: 20 } as const;

function tableOf({ curve, formula }: GripCurve): ChartTable {
  return {
    columns: [
      { name: "Slip ratio (wR - v) / v", unit: "%" },
      { name: "Friction used", unit: "" },
      { name: "Friction, low end at 95 %", unit: "" },
      { name: "Friction, high end at 95 %", unit: "" },
      { name: "Samples", unit: "" },
      { name: "Magic Formula", unit: "" },
    ],
    rows: curve.map(({ slip, friction, low, high, samples }) => [
      100 * slip,
      friction,
      low,
      high,
      samples,
      formula === null ? null : frictionAt(formula, slip),
    ]),
  };
}

const spoken = ({ bestSlip, peakFriction, why }: GripCurve, held: readonly HeldAt[]) =>
  [
    "Friction used against slip.",
    bestSlip === null || peakFriction === null
      ? (why ?? "The best is unknown.")
      : `Best slip ${(100 * bestSlip.value).toFixed(1)} per cent, friction there ${peakFriction.value.toFixed(2)}.`,
    ...held.map(({ name, slip }) => `${name}: ${(100 * slip).toFixed(1)} per cent.`),
  ].join(" ");

export function createGripFigure(frame: Pick<Frame, "announce" | "fail" | "car">): GripFigure {
  let now: GripCurve | null = null;
  let posts: readonly HeldAt[] = [];
  const chart = createHouseChart("grip");
  const heading = el("h2", {}, "Grip used, by slip");
  const road = () => (now?.surface === null || now === null ? "" : `, ${now.surface}`);
  const tools = createChartTools(frame, "the grip curve", {
    name: () => `grip${now?.surface == null ? "" : `-${now.surface.replaceAll(/\W+/g, "-")}`}`,
    title: () =>
      `${frame.car()}: friction used against slip ratio (wR - v) / v${road()}. Discs: measured; line: Magic Formula; rod: best slip`,
    picture: () => {
      const curve = now;
      if (curve === null) return null;
      return { width: SAVED.width, height: SAVED.height, paint: (surface, palette) => paintGrip(surface, curve, posts, palette, SAVED.px) };
    },
    table: () => (now === null ? null : tableOf(now)),
  });
  const element = el("section", { class: "grip-figure" }, el("div", { class: "figure-head" }, heading, tools.element), chart.element);
  return {
    element,
    show(curve, held) {
      now = curve;
      posts = held;
      element.hidden = curve === null;
      setText(heading, `Grip used, by slip${road()}`);
      chart.show(curve === null ? null : gripChart(curve, held), curve === null ? "" : spoken(curve, held));
    },
  };
}
