/** One further column below the open seam on the same axis, by Chart.js without decimation; unknown breaks the line. */
import { Chart, LinearScale, LineController, LineElement, PointElement } from "chart.js";
import { el, setText } from "../../screen/dom.ts";
import { readPalette } from "../../draw/palette.ts";
import { PAD } from "./figure-parts.ts";

Chart.register(LineController, LineElement, PointElement, LinearScale);

export interface FurtherLine {
  readonly name: string;
  readonly unit: string;
  readonly axis: Float32Array;
  readonly values: Float32Array;
  readonly from: number;
  readonly to: number;
}

export interface FurtherChart {
  readonly element: HTMLElement;
  /** null removes the chart. */
  show(line: FurtherLine | null, fontPx: number): void;
  /** `share` of the axis; outside of it the cursor is hidden. */
  cursor(share: number): void;
}

export function createFurtherChart(): FurtherChart {
  const canvas = el("canvas", { role: "img" });
  const name = el("p", { class: "small" });
  const mark = el("div", { class: "further-cursor", "aria-hidden": "true" });
  const element = el("div", { class: "further", hidden: true }, name, el("div", { class: "line" }, canvas, mark));
  let chart: Chart<"line", { x: number; y: number }[]> | null = null;
  return {
    element,
    cursor(share) {
      mark.hidden = !(share >= 0 && share <= 1);
      mark.style.left = `calc(${PAD.left}px + ${share} * (100% - ${PAD.left + PAD.right}px))`;
    },
    show(line, fontPx) {
      chart?.destroy();
      chart = null;
      element.hidden = line === null;
      if (line === null) return;
      const palette = readPalette();
      const title = line.unit === "" ? line.name : `${line.name}, ${line.unit}`;
      setText(name, title);
      canvas.setAttribute("aria-label", `${title} on the axis of the figure above`);
      const font = { family: "IBM Plex Sans", size: fontPx, weight: 500 };
      const data = Array.from(line.axis, (x, i) => ({ x, y: line.values[i] }));
      chart = new Chart(canvas, {
        type: "line",
        data: { datasets: [{ data, borderColor: palette.ink, borderWidth: 3, pointRadius: 0, spanGaps: false }] },
        options: {
          animation: false,
          parsing: false,
          normalized: true,
          responsive: true,
          maintainAspectRatio: false,
          layout: { padding: { right: PAD.right, top: 8 } },
          scales: {
            x: {
              type: "linear",
              min: line.from,
              max: line.to,
              ticks: { display: false },
              grid: { display: false },
              border: { color: palette.rule },
            },
            y: {
              type: "linear",
              title: { display: false },
              ticks: { color: palette.ink2, font, maxTicksLimit: 4 },
              grid: { color: palette.rule, lineWidth: 1 },
              border: { display: false },
              // The figure above has a fixed margin, and both axes must be aligned.
              afterFit: (scale) => {
                scale.width = PAD.left;
              },
            },
          },
        },
      });
    },
  };
}
