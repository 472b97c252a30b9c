/**
 * A report's figures, by the same painters as the screens: both strips of a comparison, a run's print, grip curve, lost time, a group's
 * mark. Never fails on an empty group.
 */
import type { Markup } from "../kernel/html.ts";
import type { Units } from "../kernel/shown-units.ts";
import { markOf, paintGroupMark } from "../draw/group-mark.ts";
import { HELD_KEY, HELD_LANE, type HeldMark, paintHeldKey, paintHeldMarks } from "../draw/held-marks.ts";
import { type HeldAt, paintGrip } from "../draw/grip-painter.ts";
import { type LossBar, paintLossBars } from "../draw/loss-bars.ts";
import { paintOrderStrip } from "../draw/order-strip.ts";
import type { Palette, Surface } from "../draw/pen.ts";
import { paintPoints } from "../draw/point-painter.ts";
import { paintResponse, responseHeight } from "../draw/response-painter.ts";
import { printData } from "../draw/print-data.ts";
import { largest, seamColumns, type SeamScales, seamScales } from "../draw/seam-columns.ts";
import { paintSeam, type SeamWeights } from "../draw/seam-painter.ts";
import { shownDifference, shownRuns } from "../draw/shown-difference.ts";
import { type PointChart, pointWords } from "../draw/spin-charts.ts";
import { svgElement } from "../draw/svg-pen.ts";
import { textWidth } from "../draw/text-width.ts";
import { paintValueStrip } from "../draw/value-strip.ts";
import type { RunPrint } from "../run/run-print.ts";
import type { GripCurve } from "../tune/grip-curve.ts";
import type { Comparison } from "../judge/judged-run.ts";
import type { Response } from "../judge/response.ts";

/** The report's own colours (report-style.ts): paper stays white, whatever the screen's colours are. */
export const PALETTE: Palette = {
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
const POINTS_HEIGHT = 300;
const [GRIP_HEIGHT, LOSS_ROW, LOSS_AROUND] = [380, 46, 64];
const PRINT = { width: 300, height: 150, ground: 82, head: 16 } as const;
/** Above the lane of marks, px. */
const LANE_GAP = 4;
const HELD_KEY_PX = { width: 560, px: 16 } as const;
const PRINT_WEIGHTS: SeamWeights = { ground: 3, hatchBar: 3, edge: 1, kerf: 3, fontPx: 11 };

const figure = (width: number, height: number, title: string, paint: (surface: Surface) => void) =>
  svgElement({ width, height, title, textWidth }, paint);

const marksOf = ({ a, b }: Comparison, groups: readonly string[]) => [markOf(groups, a.label), markOf(groups, b.label)] as const;

/** All values of both groups on one axis of seconds, with the gain; `driven`: the ids of all runs in the order driven; `groups`: of the book. */
export function valueStripSvg(comparison: Comparison, driven: readonly number[], groups: readonly string[]): Markup {
  const { a, b } = comparison;
  const title = [a, b].map(({ label, values }) => `${label}: ${values.map((value) => value.toFixed(2)).join(", ")} s`).join("; ");
  const show = {
    pair: comparison,
    marks: marksOf(comparison, groups),
    runs: shownRuns(comparison, driven),
    difference: shownDifference(comparison, false),
    selected: null,
  };
  return figure(STRIP.width, STRIP.valuesHeight, title, (surface) => void paintValueStrip(surface, show, PALETTE, STRIP.px));
}

/** Values in driving order; with a drift, its line through each group. */
export function orderStripSvg(comparison: Comparison, driven: readonly number[], groups: readonly string[]): Markup {
  const runs = shownRuns(comparison, driven);
  return figure(
    STRIP.width,
    STRIP.orderHeight,
    "Seconds in the order driven",
    (surface) =>
      void paintOrderStrip(surface, { pair: comparison, marks: marksOf(comparison, groups), runs, selected: null }, PALETTE, STRIP.px),
  );
}

/** The grip curve of one surface. */
export const gripSvg = (curve: GripCurve, held: readonly HeldAt[]): Markup =>
  figure(STRIP.width, GRIP_HEIGHT, "Friction used against slip", (surface) => paintGrip(surface, curve, held, PALETTE, STRIP.px));

/** Points over named places, a line a series. */
export const pointsSvg = (chart: PointChart): Markup =>
  figure(STRIP.width, POINTS_HEIGHT, pointWords(chart), (surface) => paintPoints(surface, chart, PALETTE, STRIP.px));

/** What each setting is worth, and every run's residual. */
export const responseSvg = (response: Response): Markup =>
  figure(STRIP.width, responseHeight(response.factors.length, STRIP.px), "What each setting is worth", (surface) =>
    paintResponse(surface, response, PALETTE, STRIP.px),
  );

/** Lost time, one bar a row. */
export const lossBarsSvg = (bars: readonly LossBar[], title: string): Markup =>
  figure(STRIP.width, LOSS_ROW * bars.length + LOSS_AROUND, title, (surface) => paintLossBars(surface, bars, PALETTE, STRIP.px));

/** A group's mark, to stand in a line of text. */
export const groupMarkSvg = (group: number): Markup =>
  figure(20, 20, "", ({ pen }) => paintGroupMark(pen, group, { x: 10, y: 10, radius: 6 }, PALETTE));

/** The day's scales: the smallest that include the largest value seen. */
export function printScales(prints: readonly RunPrint[], units: Units): SeamScales {
  const most = (pick: (print: RunPrint) => readonly (number | null)[]) => Math.max(0, ...prints.map((print) => largest(pick(print))));
  return seamScales(
    most((print) => print.slipKmh),
    most((print) => print.heldNm),
    units,
  );
}

export interface PrintStyle {
  readonly scales: SeamScales;
  /** Seconds over the whole width; the same for prints that are compared. */
  readonly seconds: number;
  readonly title: string;
  readonly setAside: boolean;
  /** Each time torque was held back, s from movement, in a lane of its own; null: no lane. */
  readonly marks: readonly HeldMark[] | null;
}

/** A launch's print: slip above the ground line, torque held back below. Steps after `seconds` are left out. */
export function printSvg(print: RunPrint, { scales, seconds, title, setAside, marks }: PrintStyle): Markup {
  const { width, height, ground, head } = PRINT;
  const beside = PRINT_WEIGHTS.ground / 2 + PRINT_WEIGHTS.kerf + head;
  const lane = marks === null ? 0 : LANE_GAP + HELD_LANE * PRINT_WEIGHTS.fontPx;
  return figure(width, height + lane, title, ({ pen }) => {
    pen.fillStyle = PALETTE.ink;
    pen.fillRect(0, ground - 0.5, width, 1);
    const place = { x: 0, y: ground, width, up: ground - beside, down: height - ground - beside };
    paintSeam(pen, { place, columns: seamColumns(printData(print), 0, seconds, width), scales, weights: PRINT_WEIGHTS }, PALETTE);
    paintHeldMarks(pen, marks ?? [], { x: 0, y: height + LANE_GAP, width, from: 0, to: seconds, px: PRINT_WEIGHTS.fontPx }, PALETTE);
    if (!setAside) return;
    pen.strokeStyle = PALETTE.ink;
    pen.lineWidth = 2;
    pen.beginPath();
    pen.moveTo(0, height - 4);
    pen.lineTo(width, 4);
    pen.stroke();
  });
}

/** What the marks under a print stand for. */
export const heldKeySvg = (): Markup =>
  figure(HELD_KEY_PX.width, HELD_KEY * HELD_KEY_PX.px, "", ({ pen, width }) =>
    paintHeldKey(pen, { x: 0, y: 0, width, px: HELD_KEY_PX.px }, PALETTE),
  );

/** The sample in a legend: slip, or torque held back. */
export const swatchSvg = (of: "slip" | "held"): Markup =>
  figure(24, 14, "", ({ pen, width, height }) => {
    pen.fillStyle = of === "slip" ? PALETTE.slip : { colour: PALETTE.held, bar: 3 };
    pen.fillRect(0, 0, width, height);
    pen.strokeStyle = PALETTE[of];
    pen.lineWidth = 1;
    pen.strokeRect(0.5, 0.5, width - 1, height - 1);
  });
