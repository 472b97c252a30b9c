/** A Chart.js chart in Gripbook's colours. With nothing to draw the chart is removed. */
import {
  BarController,
  BarElement,
  CategoryScale,
  Chart,
  type ChartConfiguration,
  Filler,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
} from "chart.js";
import type { Palette } from "../../shared/draw/pen.ts";
import { fontPx, readPalette } from "../draw/palette.ts";
import { el } from "../screen/dom.ts";

Chart.register(BarController, BarElement, CategoryScale, LinearScale, LineController, LineElement, PointElement, Filler);

/** What a chart is made from at one letter size. `context` makes patterns. */
export interface ChartPaint {
  readonly palette: Palette;
  readonly px: number;
  readonly context: CanvasRenderingContext2D;
}
export type ChartMaker = (paint: ChartPaint) => ChartConfiguration;

export interface HouseChart {
  readonly element: HTMLElement;
  /** `words`: read to people who cannot see the chart. Null removes it. */
  show(make: ChartMaker | null, words: string): void;
}

const FONT = "IBM Plex Sans";

/** Axis letters and lines as in every chart of Gripbook. */
export function axisStyle({ palette, px }: ChartPaint) {
  return {
    ticks: { color: palette.ink2, font: { family: FONT, size: px, weight: 500 }, maxRotation: 0 },
    grid: { color: palette.rule, lineWidth: 1 },
    border: { color: palette.rule },
    title: { color: palette.ink2, font: { family: FONT, size: px, weight: 500 }, padding: 0 },
  };
}

export function createHouseChart(kind: string): HouseChart {
  const canvas = el("canvas", { role: "img" });
  const element = el("div", { class: `canvas-box house-chart ${kind}`, hidden: true }, canvas);
  let chart: Chart | null = null;
  return {
    element,
    show(make, words) {
      chart?.destroy();
      chart = null;
      element.hidden = make === null;
      const context = canvas.getContext("2d");
      if (make === null || context === null || element.clientWidth === 0) return;
      canvas.setAttribute("aria-label", words);
      chart = new Chart(canvas, make({ palette: readPalette(), px: fontPx(element), context }));
    },
  };
}
