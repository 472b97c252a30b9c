/** Lost time as Chart.js draws it: one bar a group, cause beside cause, and the same of one group along the speed axis. Side, texture and order say the cause where colour does not. */
import type { ChartConfiguration, ChartDataset, Scale } from "chart.js";
import { apart } from "../../shared/judge/wording.ts";
import { type LossBar, lossEnds } from "../../shared/draw/loss-bars.ts";
import { ticksBetween } from "../../shared/draw/ticks.ts";
import { CAUSE_WORDS } from "../../shared/tune/loss-words.ts";
import { LOSS_CAUSES } from "../../shared/tune/losses.ts";
import { inkOf } from "./chart-inks.ts";
import { axisStyle, type ChartMaker, type ChartPaint } from "./house-chart.ts";

function datasets(bars: readonly LossBar[], paint: ChartPaint): ChartDataset<"bar">[] {
  return LOSS_CAUSES.map((cause) => ({
    label: CAUSE_WORDS[cause],
    data: bars.map((bar) => bar.seconds[cause]),
    borderSkipped: false,
    barPercentage: 0.9,
    categoryPercentage: 0.9,
    ...inkOf(cause, paint),
  }));
}

/** Round ticks on an axis that ends with its bars, to the left of 0 only as far as they go. */
function axisOf(bars: readonly LossBar[], cuts: number) {
  const { least, most } = lossEnds(bars);
  return {
    min: least,
    max: most,
    afterBuildTicks: (scale: Scale) => {
      scale.ticks = ticksBetween(least, most, cuts).map((value) => ({ value }));
    },
  };
}

const secondsAt = (value: string | number) => `${Number(Number(value).toFixed(3))} s`.replace("-", "\u2212");

const STILL = { animation: false as const, responsive: true, maintainAspectRatio: false, events: [] };

/** One bar a group on one axis of seconds; `selected` is in thick letters. */
export function lossBars(bars: readonly LossBar[], selected: number): ChartMaker {
  return (paint) => {
    const style = axisStyle(paint);
    const names = bars.length > 1 ? apart(bars.map((bar) => bar.name)) : [""];
    const config: ChartConfiguration<"bar"> = {
      type: "bar",
      data: { labels: names, datasets: datasets(bars, paint) },
      options: {
        ...STILL,
        indexAxis: "y",
        layout: { padding: { right: paint.px } },
        scales: {
          x: { ...style, ...axisOf(bars, 4), stacked: true, ticks: { ...style.ticks, autoSkip: false, callback: secondsAt } },
          y: {
            ...style,
            stacked: true,
            grid: { display: false },
            ticks: {
              color: paint.palette.ink,
              font: ({ index }) => ({ family: "IBM Plex Sans", size: paint.px * 1.1, weight: index === selected ? 700 : 500 }),
            },
          },
        },
      },
    };
    return config as ChartConfiguration;
  };
}

/** One column each band of speed. */
export function lossColumns(bars: readonly LossBar[]): ChartMaker {
  return (paint) => {
    const style = axisStyle(paint);
    const config: ChartConfiguration<"bar"> = {
      type: "bar",
      data: { labels: bars.map((bar) => bar.name), datasets: datasets(bars, paint) },
      options: {
        ...STILL,
        layout: { padding: { top: 4 } },
        scales: {
          x: { ...style, stacked: true, grid: { display: false } },
          y: { ...style, ...axisOf(bars, 5), stacked: true, ticks: { ...style.ticks, autoSkip: false, callback: secondsAt } },
        },
      },
    };
    return config as ChartConfiguration;
  };
}
