/**
 * The two figures of the guided calibration as they narrow: a hollow rod for each fit's interval, solid at its estimate, dots at the
 * interval that is good enough. Unknown values are not drawn.
 */
import type { CarView } from "../../../shared/contract/wiring-contract.ts";
import { type ChartSource, createChartTools } from "../../screen/chart-tools.ts";
import { el } from "../../screen/dom.ts";
import { number } from "../../screen/format.ts";
import type { Frame } from "../../screen/page.ts";
import type { Palette, Surface } from "../../../shared/draw/pen.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";

interface Fit {
  readonly seconds: number;
  readonly radiusM: number;
  readonly radiusPlusMinusM: number;
  readonly delayMs: number;
  readonly delayPlusMinusMs: number;
}

interface Row {
  readonly name: string;
  readonly digits: number;
  readonly value: (fit: Fit) => number;
  readonly half: (fit: Fit) => number;
  /** Half width asked for at the newest estimate (calibration-progress.ts). */
  readonly good: (fit: Fit) => number;
}

const ROWS: readonly Row[] = [
  {
    name: "Radius, m",
    digits: 4,
    value: (fit) => fit.radiusM,
    half: (fit) => fit.radiusPlusMinusM,
    good: (fit) => fit.radiusM * 0.002,
  },
  {
    name: "Receiver delay, ms",
    digits: 0,
    value: (fit) => fit.delayMs,
    half: (fit) => fit.delayPlusMinusMs,
    good: () => 10,
  },
];

/** A guided drive takes a few minutes. */
const AXIS_S = 150;
/** Early intervals are far wider than useful: the scale shows this many times the interval asked for. */
const SCALE = 5;
const KEY = "Hollow: interval; solid: estimate; dots: good enough.";
const SAVED = { width: 900, height: 300, px: 20 } as const;

function paintRow(
  { pen, width }: Surface,
  { row, fits, top, height, px }: { row: Row; fits: readonly Fit[]; top: number; height: number; px: number },
  palette: Palette,
): void {
  const newest = fits.findLast((fit) => Number.isFinite(row.value(fit)));
  const left = px * 4.4;
  pen.textBaseline = "middle";
  pen.textAlign = "left";
  pen.font = `700 ${px}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink;
  pen.fillText(row.name, 0, top + px * 0.6);
  if (newest === undefined) return;
  const [middle, good] = [row.value(newest), row.good(newest)];
  const from = top + px * 1.3;
  const y = (value: number) => from + (height - px * 1.6) * (0.5 - Math.max(-0.5, Math.min(0.5, (value - middle) / (2 * SCALE * good))));
  const axisS = Math.max(AXIS_S, fits.at(-1)?.seconds ?? 0);
  const x = (seconds: number) => left + (seconds / axisS) * (width - left - 16);
  pen.font = `500 ${px}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink2;
  pen.textAlign = "right";
  for (const value of [middle + good, middle - good]) for (let at = left; at < width; at += 9) pen.fillRect(at, y(value) - 1.5, 3, 3);
  pen.fillText(number(middle, row.digits), left - 10, y(middle));
  const rod = Math.max(4, Math.min(10, x(4) - x(0) - 3));
  for (const fit of fits) {
    const [value, half] = [row.value(fit), row.half(fit)];
    if (!Number.isFinite(value) || !Number.isFinite(half)) continue;
    const [high, low] = [y(value + half), y(value - half)];
    pen.fillStyle = palette.ink;
    pen.fillRect(x(fit.seconds) - rod / 2, high, rod, Math.max(3, low - high));
    pen.fillStyle = palette.sheet;
    if (low - high > 5) pen.fillRect(x(fit.seconds) - rod / 2 + 2, high + 2, rod - 4, low - high - 4);
    pen.fillStyle = palette.ink;
    pen.fillRect(x(fit.seconds) - rod / 2, y(value) - 2, rod, 4);
  }
}

function paint(drawn: Surface, fits: readonly Fit[], px: number, palette: Palette): void {
  const { pen, width, height } = drawn;
  const each = (height - px * 1.4) / ROWS.length;
  for (const [i, row] of ROWS.entries()) paintRow(drawn, { row, fits, top: i * each, height: each, px }, palette);
  pen.textAlign = "right";
  pen.textBaseline = "bottom";
  pen.font = `500 ${px}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink2;
  pen.fillText(`${Math.max(AXIS_S, Math.round(fits.at(-1)?.seconds ?? 0))} s of driving`, width, height);
}

export interface IntervalChart {
  readonly element: HTMLElement;
  show(guided: CarView["guided"]): void;
}

export function createIntervalChart(frame: Pick<Frame, "announce" | "fail" | "car">): IntervalChart {
  let fits: Fit[] = [];
  const canvas = el("canvas", { role: "img" });
  const box = el("div", { class: "canvas-box intervals" }, canvas);
  const source: ChartSource = {
    name: () => "calibration",
    title: () => `${frame.car()}: calibration as it was driven. ${KEY}`,
    picture: () =>
      fits.length === 0
        ? null
        : { width: SAVED.width, height: SAVED.height, paint: (drawn, palette) => paint(drawn, fits, SAVED.px, palette) },
    table: () =>
      fits.length === 0
        ? null
        : {
            columns: [
              { name: "Driven", unit: "s" },
              { name: "Radius", unit: "m" },
              { name: "Radius, half width at 95 %", unit: "m" },
              { name: "Receiver delay", unit: "ms" },
              { name: "Receiver delay, half width at 95 %", unit: "ms" },
            ],
            rows: fits.map((fit) => [fit.seconds, fit.radiusM, fit.radiusPlusMinusM, fit.delayMs, fit.delayPlusMinusMs]),
          },
  };
  const tools = createChartTools(frame, "the calibration", source);
  const element = el(
    "div",
    {},
    el("div", { class: "figure-head" }, el("h2", {}, "Precision so far"), tools.element),
    box,
    el("p", { class: "small quiet" }, KEY),
  );
  return {
    element,
    show(guided) {
      if (guided === null) {
        fits = [];
        return;
      }
      if (fits.at(-1)?.seconds !== guided.seconds)
        fits.push({
          seconds: guided.seconds,
          radiusM: guided.radiusM,
          radiusPlusMinusM: guided.radiusPlusMinus95M,
          delayMs: guided.delayS * 1000,
          delayPlusMinusMs: guided.delayPlusMinus95S * 1000,
        });
      canvas.setAttribute("aria-label", `Intervals of ${fits.length} fits so far, over ${Math.round(guided.seconds)} s of driving`);
      const drawn = surface(canvas);
      if (drawn !== null) paint(drawn, fits, fontPx(box), readPalette());
    },
  };
}
