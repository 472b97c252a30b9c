/** A report's figures, by the painters of the screens: both strips of a comparison, a run's print, grip curve, time lost, a group's mark. Never fails on an empty group. */
import type { Markup } from "../kernel/html.ts";
import { paintGroupMark } from "../draw/group-mark.ts";
import { type HeldAt, paintGrip } from "../draw/grip-painter.ts";
import { type LossBar, paintLossBars } from "../draw/loss-bars.ts";
import { paintOrderStrip } from "../draw/order-strip.ts";
import type { Palette, Surface } from "../draw/pen.ts";
import { printData } from "../draw/print-data.ts";
import { largest, seamColumns, type SeamScales, seamScales } from "../draw/seam-columns.ts";
import { paintSeam, type SeamWeights } from "../draw/seam-painter.ts";
import { shownDifference, shownRuns } from "../draw/shown-difference.ts";
import { svgElement } from "../draw/svg-pen.ts";
import { textWidth } from "../draw/text-width.ts";
import { paintValueStrip } from "../draw/value-strip.ts";
import type { RunPrint } from "../run/run-print.ts";
import type { GripCurve } from "../tune/grip-curve.ts";
import type { Comparison } from "../judge/judged-run.ts";

/** The report's own colours (report-style.ts), so that paper stays white where the screen is not. */
const PALETTE: Palette = {
  sheet: "var(--sheet)",
  panel: "var(--panel)",
  ink: "var(--ink)",
  ink2: "var(--ink-2)",
  rule: "var(--rule)",
  slip: "var(--slip)",
  held: "var(--held)",
  sun: false,
};
const STRIP = { width: 900, valuesHeight: 300, orderHeight: 260, px: 18 } as const;
const [GRIP_HEIGHT, LOSS_ROW, LOSS_AROUND] = [380, 46, 64];
const PRINT = { width: 300, height: 150, ground: 82, head: 16 } as const;
const PRINT_WEIGHTS: SeamWeights = { ground: 3, hatchBar: 3, edge: 1, kerf: 3, fontPx: 11 };

const figure = (width: number, height: number, title: string, paint: (surface: Surface) => void) =>
  svgElement({ width, height, title, textWidth }, paint);

/** All values of both groups on one axis of seconds, with the gain; `driven`: the ids of all runs in the order driven. */
export function valueStripSvg(comparison: Comparison, driven: readonly number[]): Markup {
  const { a, b } = comparison;
  const title = [a, b].map(({ label, values }) => `${label}: ${values.map((value) => value.toFixed(2)).join(", ")} s`).join("; ");
  const show = {
    pair: comparison,
    runs: shownRuns(comparison, driven),
    difference: shownDifference(comparison, false),
    selected: null,
  };
  return figure(STRIP.width, STRIP.valuesHeight, title, (surface) => void paintValueStrip(surface, show, PALETTE, STRIP.px));
}

/** Values against the order driven; with a drift, its line through each group. */
export function orderStripSvg(comparison: Comparison, driven: readonly number[]): Markup {
  const runs = shownRuns(comparison, driven);
  return figure(
    STRIP.width,
    STRIP.orderHeight,
    "Seconds in the order driven",
    (surface) => void paintOrderStrip(surface, { pair: comparison, runs, selected: null }, PALETTE, STRIP.px),
  );
}

/** The grip curve of one surface. */
export const gripSvg = (curve: GripCurve, held: readonly HeldAt[]): Markup =>
  figure(STRIP.width, GRIP_HEIGHT, "Friction used against slip", (surface) => paintGrip(surface, curve, held, PALETTE, STRIP.px));

/** Lost time, one bar a row. */
export const lossBarsSvg = (bars: readonly LossBar[], title: string): Markup =>
  figure(STRIP.width, LOSS_ROW * bars.length + LOSS_AROUND, title, (surface) => paintLossBars(surface, bars, PALETTE, STRIP.px));

/** The mark of a group, for a line of text. */
export const groupMarkSvg = (group: number): Markup =>
  figure(20, 20, "", ({ pen }) => paintGroupMark(pen, group, { x: 10, y: 10, radius: 6 }, PALETTE));

/** The day's scales: the least that hold the largest seen. */
export function printScales(prints: readonly RunPrint[]): SeamScales {
  const most = (pick: (print: RunPrint) => readonly (number | null)[]) => Math.max(0, ...prints.map((print) => largest(pick(print))));
  return seamScales(
    most((print) => print.slipKmh),
    most((print) => print.heldNm),
  );
}

export interface PrintStyle {
  readonly scales: SeamScales;
  /** Seconds over the whole width, the same for prints to be compared. */
  readonly seconds: number;
  readonly title: string;
  readonly setAside: boolean;
}

/** A launch's print: slip above the ground line, torque held back below it. Steps beyond `seconds` are left off. */
export function printSvg(print: RunPrint, { scales, seconds, title, setAside }: PrintStyle): Markup {
  const { width, height, ground, head } = PRINT;
  const beside = PRINT_WEIGHTS.ground / 2 + PRINT_WEIGHTS.kerf + head;
  return figure(width, height, title, ({ pen }) => {
    pen.fillStyle = PALETTE.ink;
    pen.fillRect(0, ground - 0.5, width, 1);
    const place = { x: 0, y: ground, width, up: ground - beside, down: height - ground - beside };
    paintSeam(pen, { place, columns: seamColumns(printData(print), 0, seconds, width), scales, weights: PRINT_WEIGHTS }, PALETTE);
    if (!setAside) return;
    pen.strokeStyle = PALETTE.ink;
    pen.lineWidth = 2;
    pen.beginPath();
    pen.moveTo(0, height - 4);
    pen.lineTo(width, 4);
    pen.stroke();
  });
}

/** The swatch of a key: slip, or torque held back. */
export const swatchSvg = (of: "slip" | "held"): Markup =>
  figure(24, 14, "", ({ pen, width, height }) => {
    pen.fillStyle = of === "slip" ? PALETTE.slip : { colour: PALETTE.held, bar: 3 };
    pen.fillRect(0, 0, width, height);
    pen.strokeStyle = PALETTE[of];
    pen.lineWidth = 1;
    pen.strokeRect(0.5, 0.5, width - 1, height - 1);
  });
