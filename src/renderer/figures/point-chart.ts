/** Points over named places as Chart.js draws them: a line a series, discs or rings, its name at its last point. */
import type { ChartConfiguration, Plugin } from "chart.js";
import { type PointChart, pointEnds } from "../../shared/draw/spin-charts.ts";
import { ticksBetween } from "../../shared/draw/ticks.ts";
import { axisStyle, type ChartMaker, type ChartPaint } from "./house-chart.ts";

/** Names at the ends of the lines, on a halo. */
function names({ lines }: PointChart, { palette, px }: ChartPaint): Plugin {
  return {
    id: "names",
    afterDatasetsDraw({ ctx, chartArea, scales }) {
      ctx.save();
      ctx.font = `700 ${px}px "IBM Plex Sans"`;
      ctx.textAlign = "right";
      ctx.textBaseline = "middle";
      for (const { name, values } of lines) {
        const last = values.findLast((value) => value !== null);
        if (last === undefined || last === null) continue;
        const up = scales.y?.getPixelForValue(last) ?? 0;
        const at = up - px > chartArea.top ? up - px * 0.9 : up + px * 0.9;
        ctx.lineWidth = 6;
        ctx.strokeStyle = palette.sheet;
        ctx.strokeText(name, chartArea.right, at);
        ctx.fillStyle = palette.ink;
        ctx.fillText(name, chartArea.right, at);
      }
      ctx.restore();
    },
  };
}

export function pointChart(chart: PointChart): ChartMaker {
  return (paint) => {
    const style = axisStyle(paint);
    const { palette } = paint;
    const { least, most } = pointEnds(chart);
    const config: ChartConfiguration<"line", (number | null)[]> = {
      type: "line",
      data: {
        labels: [...chart.places],
        datasets: chart.lines.map(({ name, values, solid }) => ({
          label: name,
          data: [...values],
          borderColor: palette.ink,
          borderWidth: 2,
          pointRadius: 5,
          pointBorderWidth: 2,
          pointBorderColor: palette.ink,
          pointBackgroundColor: solid ? palette.ink : palette.sheet,
          spanGaps: true,
        })),
      },
      options: {
        animation: false,
        responsive: true,
        maintainAspectRatio: false,
        events: [],
        layout: { padding: { top: 4, right: paint.px } },
        scales: {
          x: {
            ...style,
            type: "category",
            offset: true,
            grid: { display: false },
            title: { ...style.title, display: true, text: chart.placesUnit },
          },
          y: {
            ...style,
            type: "linear",
            min: least,
            max: most,
            afterBuildTicks: (scale) => {
              scale.ticks = ticksBetween(least, most, 4).map((value) => ({ value }));
            },
            ticks: { ...style.ticks, autoSkip: false, callback: (value) => `${Number(Number(value).toFixed(2))} ${chart.unit}`.trim() },
          },
        },
      },
      plugins: [names(chart, paint) as Plugin<"line">],
    };
    return config as ChartConfiguration;
  };
}
