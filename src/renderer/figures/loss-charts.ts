/**
 * Lost time by Chart.js: one bar a group with its causes beside each other, and the same for one group along the speed axis. Side, texture
 * and order show the cause without colour.
 */
import type { ChartConfiguration, ChartDataset, Scale } from "chart.js";
import { apart } from "../../shared/judge/wording.ts";
import { fitWords } from "../../shared/draw/fit-words.ts";
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

/** Round ticks on an axis that ends where its bars end; it goes left of 0 only as far as they do. */
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

/** The most that names take of the figure's width. */
const NAMES_SHARE = 0.4;

const STILL = { animation: false as const, responsive: true, maintainAspectRatio: false, events: [] };

/** One bar a group on one axis of seconds; the selected one has bold letters. */
export function lossBars(bars: readonly LossBar[], selected: number): ChartMaker {
  return (paint) => {
    const style = axisStyle(paint);
    const { context, px } = paint;
    context.font = `700 ${px * 1.1}px "IBM Plex Sans"`;
    const room = context.canvas.clientWidth * NAMES_SHARE;
    const whole = bars.length > 1 ? apart(bars.map((bar) => bar.name)) : [""];
    const names = whole.map((name) => fitWords(name, room, (text) => context.measureText(text).width));
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
