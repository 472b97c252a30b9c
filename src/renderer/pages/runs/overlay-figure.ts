/**
 * Two runs in one figure: ground speed of a as a hollow line, of b as a solid one, each named beside its line. Below: how far b is ahead in
 * time, as dots above its line, open dots below where it is behind.
 */
import { widestPlace } from "../../../shared/draw/clear-places.ts";
import { type LineColumns, lineColumns, ticks } from "../../../shared/draw/line-columns.ts";
import type { Palette, Pen } from "../../../shared/draw/pen.ts";
import { largest } from "../../../shared/draw/seam-columns.ts";
import { type AxisUnit, type Band, type Field, JOIN, PAD, paintLine, scaleLabels, scaleName, word } from "./figure-parts.ts";
import type { RunData } from "./run-data.ts";
import { secondsAhead } from "./run-difference.ts";
import { units } from "../../screen/units.ts";

export interface OverlayPlan {
  readonly data: RunData;
  readonly axis: Float32Array;
  /** The axis is moved by the alignment; `shiftS` is by how much in time. */
  readonly reference: { readonly data: RunData; readonly axis: Float32Array; readonly shiftS: number };
  readonly from: number;
  readonly to: number;
  readonly unit: AxisUnit;
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
  const speed = ticks(Math.max(largest(a.most), largest(b.most), units().bandStep), 4);
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
  const { id } = plan.data.view.run;
  const { uprights } = plan;
  pen.font = `500 ${plan.fontPx}px "IBM Plex Sans"`;
  const named = nameRuns(pen, { plan, a, b, up, width, top }, palette);
  pen.font = `700 ${plan.fontPx}px "IBM Plex Sans"`;
  const y = top + plan.fontPx * 0.8;
  // No scale's name where a run's name has come up to its line.
  const free = (x: number, long: number) =>
    named.some((name) => Math.abs(name.y - y) < plan.fontPx * 1.1 && x < name.x + name.half && x + long > name.x - name.half) ? null : true;
  const { speed: speedUnit } = units();
  scaleName(pen, [`Ground speed, ${speedUnit}`, `Ground, ${speedUnit}`, speedUnit], { y, uprights, width, free }, palette);
  scaleName(pen, [`Run ${id} ahead, s`, "Ahead, s", "s"], { y: split + plan.fontPx, uprights, width }, palette);
}

interface Named {
  readonly plan: OverlayPlan;
  readonly a: LineColumns;
  readonly b: LineColumns;
  readonly up: Band;
  readonly width: number;
  readonly top: number;
}

/** Names both lines at one place, outside of the pair: between two close lines a word would seem to belong to the other one. */
function nameRuns(pen: Pen, { plan, a, b, up, width, top }: Named, palette: Palette): { x: number; y: number; half: number }[] {
  const at = Math.floor(widestPlace(plan.uprights, PAD.left + width * 0.25, PAD.left + width * 0.97) - PAD.left);
  const lines = [
    { run: plan.reference.data.view.run.id, speed: a.most[at] },
    { run: plan.data.view.run.id, speed: b.most[at] },
  ].filter(({ speed }) => !Number.isNaN(speed));
  lines.sort((one, other) => other.speed - one.speed);
  pen.textAlign = "center";
  return lines.map(({ run, speed }, i) => {
    const [text, x] = [`run ${run}`, PAD.left + at];
    const y = Math.max(top + plan.fontPx * 0.6, up.base + speed * up.scale + (i === 0 ? -1.1 : 1.1) * plan.fontPx);
    word(pen, text, x, y, palette);
    return { x, y, half: pen.measureText(text).width / 2 + plan.fontPx * 0.3 };
  });
}
