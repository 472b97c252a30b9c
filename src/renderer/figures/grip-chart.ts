/**
 * Friction used against slip, by Chart.js: measured values as discs with their band, the formula as a line as far as it is valid, best slip
 * as a rod, and posts where groups hold slip.
 */
import type { ChartConfiguration, ChartDataset, Plugin } from "chart.js";
import { fitWords } from "../../shared/draw/fit-words.ts";
import { ticksBetween } from "../../shared/draw/ticks.ts";
import { formulaPoints, frictionAxisEnd, type HeldAt, slipAxisEnd } from "../../shared/draw/grip-painter.ts";
import type { GripCurve } from "../../shared/tune/grip-curve.ts";
import { axisStyle, type ChartMaker, type ChartPaint } from "./house-chart.ts";

type Points = ChartDataset<"line", { x: number; y: number }[]>;

/** Points inside the figure. */
const seenOf = (curve: GripCurve) => curve.curve.filter(({ slip }) => slip <= slipAxisEnd(curve));

function measured(curve: GripCurve, { palette }: ChartPaint): Points[] {
  const edge = (pick: "low" | "high"): Points => ({
    data: seenOf(curve).map((point) => ({ x: 100 * point.slip, y: point[pick] })),
    borderWidth: 0,
    pointRadius: 0,
    ...(pick === "high" ? { fill: "-1", backgroundColor: `color-mix(in srgb, ${palette.ink2} 22%, transparent)` } : {}),
  });
  return [
    edge("low"),
    edge("high"),
    {
      data: seenOf(curve).map((point) => ({ x: 100 * point.slip, y: point.friction })),
      showLine: false,
      pointRadius: 4,
      pointBackgroundColor: palette.ink,
      pointBorderColor: palette.sheet,
      pointBorderWidth: 1,
    },
  ];
}

function formulaLine(curve: GripCurve, endSlip: number, { palette }: ChartPaint): Points[] {
  const data = formulaPoints(curve, endSlip).map(({ slip, friction }) => ({ x: 100 * slip, y: friction }));
  if (data.length === 0) return [];
  return [{ data, borderColor: palette.ink, borderWidth: 3, pointRadius: 0, tension: 0 }];
}

/** Rod and posts, drawn on top of the chart. */
function marks(curve: GripCurve, held: readonly HeldAt[], { palette, px }: ChartPaint): Plugin {
  return {
    id: "marks",
    afterDatasetsDraw({ ctx, chartArea, scales }) {
      const x = (slip: number) => scales.x?.getPixelForValue(100 * slip) ?? 0;
      const words = (whole: string, at: number, y: number) => {
        ctx.font = `700 ${px}px "IBM Plex Sans"`;
        const text = fitWords(whole, chartArea.right - chartArea.left - 4, (part) => ctx.measureText(part).width);
        ctx.textBaseline = "middle";
        const width = ctx.measureText(text).width;
        const left = Math.max(chartArea.left + 2, Math.min(chartArea.right - width - 2, at + 12));
        ctx.lineWidth = 6;
        ctx.lineJoin = "round";
        ctx.strokeStyle = palette.sheet;
        ctx.strokeText(text, left, y);
        ctx.fillStyle = palette.ink;
        ctx.fillText(text, left, y);
      };
      ctx.save();
      ctx.textAlign = "left";
      const foot = chartArea.bottom;
      if (curve.bestSlip !== null) {
        const { value, plusMinus95 } = curve.bestSlip;
        const [low, high] = [x(value - plusMinus95), x(value + plusMinus95)];
        ctx.fillStyle = palette.ink;
        ctx.fillRect(low, foot - 12, Math.max(3, high - low), 12);
        ctx.fillRect(x(value) - 1.5, chartArea.top, 3, foot - chartArea.top);
        words(`best ${(100 * value).toFixed(1)} ± ${(100 * plusMinus95).toFixed(1)} %`, x(value), foot - px * 0.9);
      }
      for (const [i, { name, slip }] of held.entries()) {
        const at = x(slip);
        if (at > chartArea.right) continue;
        ctx.fillStyle = palette.sheet;
        ctx.strokeStyle = palette.ink;
        ctx.lineWidth = 3;
        ctx.beginPath();
        ctx.rect(at - 4, foot - 46, 8, 46);
        ctx.fill();
        ctx.stroke();
        words(name, at, foot - px * (2.4 + 1.3 * i));
      }
      ctx.restore();
    },
  };
}

export function gripChart(curve: GripCurve, held: readonly HeldAt[]): ChartMaker {
  return (paint) => {
    const style = axisStyle(paint);
    const endSlip = slipAxisEnd(curve);
    const config: ChartConfiguration<"line", { x: number; y: number }[]> = {
      type: "line",
      data: { datasets: [...measured(curve, paint), ...formulaLine(curve, endSlip, paint)] },
      options: {
        animation: false,
        parsing: false,
        responsive: true,
        maintainAspectRatio: false,
        events: [],
        layout: { padding: { right: paint.px, top: 4 } },
        scales: {
          x: {
            ...style,
            type: "linear",
            min: 0,
            max: 100 * endSlip,
            afterBuildTicks: (scale) => {
              scale.ticks = ticksBetween(0, 100 * endSlip, 6).map((value) => ({ value }));
            },
            ticks: { ...style.ticks, autoSkip: false, callback: (value) => `${value} %` },
          },
          y: {
            ...style,
            type: "linear",
            min: 0,
            max: frictionAxisEnd(curve),
            afterBuildTicks: (scale) => {
              scale.ticks = ticksBetween(0, frictionAxisEnd(curve), 5).map((value) => ({ value }));
            },
            ticks: { ...style.ticks, autoSkip: false, callback: (value) => String(Number(Number(value).toFixed(2))) },
          },
        },
      },
      plugins: [marks(curve, held, paint) as Plugin<"line">],
    };
    return config as ChartConfiguration;
  };
}
