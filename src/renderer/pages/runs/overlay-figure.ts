/** Two runs laid over each other: ground speed a hollow, b solid; below, how far b is ahead in time: dots above its line, open dots below where behind. */
import { widestPlace } from "../../../shared/draw/clear-places.ts";
import { type LineColumns, lineColumns, ticks } from "../../../shared/draw/line-columns.ts";
import type { Palette, Pen } from "../../../shared/draw/pen.ts";
import { largest } from "../../../shared/draw/seam-columns.ts";
import { type Band, type Field, JOIN, PAD, scaleLabels, scaleName, paintLine, word } from "./figure-parts.ts";
import type { RunData } from "./run-data.ts";
import { secondsAhead } from "./run-difference.ts";

export interface OverlayPlan {
  readonly data: RunData;
  readonly axis: Float32Array;
  /** The axis lies where the alignment puts it; `shiftS` is how much later that moved it. */
  readonly reference: { readonly data: RunData; readonly axis: Float32Array; readonly shiftS: number };
  readonly from: number;
  readonly to: number;
  readonly unit: "s" | "m";
  readonly fontPx: number;
  /** x of posts and of the start. */
  readonly uprights: readonly number[];
}

const DOT_STEP_PX = 12;

function dots(pen: Pen, ahead: LineColumns, zero: number, pxPerS: number, palette: Palette): void {
  for (let c = 0; c < ahead.most.length; c += DOT_STEP_PX) {
    const value = ahead.most[c];
    if (Number.isNaN(value)) continue;
    pen.beginPath();
    pen.arc(PAD.left + c, zero - value * pxPerS, 4, 0, 7);
    pen.fillStyle = value >= 0 ? palette.ink : palette.sheet;
    pen.fill();
    pen.lineWidth = 2;
    pen.strokeStyle = palette.ink;
    pen.stroke();
  }
}

export function paintOverlay(pen: Pen, plan: OverlayPlan, { width, top, bottom }: Field, palette: Palette): void {
  const window = { from: plan.from, to: plan.to, width, longestJoin: JOIN[plan.unit] };
  const b = lineColumns(plan.axis, plan.data.column("groundSpeedKmh"), window);
  const a = lineColumns(plan.reference.axis, plan.reference.data.column("groundSpeedKmh"), window);
  const ahead = lineColumns(plan.axis, secondsAhead(plan.data, plan.reference.data, plan.reference.shiftS), window);
  const speed = ticks(Math.max(largest(a.most), largest(b.most), 20), 4);
  const split = Math.round(top + (bottom - top) * 0.62);
  const up: Band = { base: split, scale: -(split - top) / speed.top };
  scaleLabels(pen, { band: up, ...speed, width, fontPx: plan.fontPx }, palette);
  pen.fillStyle = palette.ink;
  pen.fillRect(PAD.left, split - 3, width, 6);
  paintLine(pen, a, up, palette, true);
  paintLine(pen, b, up, palette, false);

  const zero = Math.round((split + bottom) / 2) + 8;
  const most = Math.max(largest(ahead.most), largest(ahead.least), 0.1);
  const pxPerS = (bottom - zero - 10) / most;
  pen.fillStyle = palette.rule;
  pen.fillRect(PAD.left, zero - 1, width, 2);
  dots(pen, ahead, zero, pxPerS, palette);
  pen.font = `500 ${plan.fontPx}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink2;
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  for (const side of [1, -1]) pen.fillText(`${side < 0 ? "\u2212" : ""}${most.toFixed(1)}`, PAD.left - 8, zero - side * most * pxPerS);
  pen.font = `700 ${plan.fontPx}px "IBM Plex Sans"`;
  const { id } = plan.data.view.run;
  const { uprights } = plan;
  scaleName(pen, ["Ground speed, km/h", "Ground, km/h", "km/h"], { y: top + plan.fontPx * 0.8, uprights, width }, palette);
  scaleName(pen, [`Run ${id} ahead, s`, "Ahead, s", "s"], { y: split + plan.fontPx, uprights, width }, palette);
  pen.textAlign = "center";
  const at = Math.floor(widestPlace(uprights, PAD.left + width * 0.25, PAD.left + width * 0.97) - PAD.left);
  for (const [line, run, away] of [
    [a, plan.reference.data, plan.fontPx * 1.1],
    [b, plan.data, -plan.fontPx * 1.1],
  ] as const) {
    const value = line.most[at];
    if (!Number.isNaN(value)) word(pen, `run ${run.view.run.id}`, PAD.left + at, up.base + value * up.scale + away, palette);
  }
}
