/** Draws one run in full: ground and wheel speed rise from the ground line, delivered and asked torque hang below it, the gaps keep their ink. */
import { postName } from "../../screen/format.ts";
import { widestPlace } from "../../../shared/draw/clear-places.ts";
import { type LineColumns, lineColumns, ticks } from "../../../shared/draw/line-columns.ts";
import type { Palette, Pen, Surface } from "../../../shared/draw/pen.ts";
import { largest, seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import { DESK_WEIGHTS, paintPosts, paintSeam } from "../../../shared/draw/seam-painter.ts";
import { type Band, fillGap, JOIN, PAD, scaleLabels, scaleName, paintLine, word } from "./figure-parts.ts";
import { paintOverlay } from "./overlay-figure.ts";
import type { RunData } from "./run-data.ts";

export interface FigurePlan {
  readonly data: RunData;
  /** The run it is laid over, on its own axis; null for one run alone. */
  readonly reference: { readonly data: RunData; readonly axis: Float32Array; readonly shiftS: number } | null;
  /** Time or distance, rising. */
  readonly axis: Float32Array;
  readonly from: number;
  readonly to: number;
  readonly unit: "s" | "m";
  readonly open: boolean;
  readonly scales: SeamScales;
  readonly fontPx: number;
  /** Gates on the axis, in order. */
  readonly gates: readonly { readonly gate: string; readonly at: number }[];
}

const most = (line: LineColumns) => largest(line.most);

/** x of every upright line in the figure: posts, and the start, where the cursor stands first. */
function uprightsOf({ from, to, gates }: FigurePlan, width: number): number[] {
  const x = (at: number) => PAD.left + ((at - from) / (to - from)) * width;
  return [0, ...gates.map((gate) => gate.at)].filter((at) => at >= from && at <= to).map(x);
}

type Axis = Pick<FigurePlan, "from" | "to" | "unit">;

/** The numbers of the axis and where each stands. */
function axisTicks({ from, to, unit }: Axis, width: number): { readonly x: number; readonly text: string }[] {
  const { step } = ticks(to - from, Math.max(3, Math.floor(width / 100)));
  const digits = step < 0.1 ? 2 : step < 1 ? 1 : 0;
  const found: { x: number; text: string }[] = [];
  for (let value = Math.ceil(from / step) * step; value <= to; value += step) {
    const x = PAD.left + ((value - from) / (to - from)) * width;
    if (x < PAD.left + 10 || x > PAD.left + width - 20) continue;
    found.push({ x, text: `${Math.abs(value) < 1e-9 ? "0" : value.toFixed(digits).replace("-", "\u2212")} ${unit}` });
  }
  return found;
}

function axisLabels(pen: Pen, plan: FigurePlan, y: number, width: number, palette: Palette): void {
  pen.font = `500 ${plan.fontPx}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink2;
  pen.textBaseline = "bottom";
  pen.textAlign = "center";
  for (const { x, text } of axisTicks(plan, width)) pen.fillText(text, x, y);
}

function paintOpen(pen: Pen, plan: FigurePlan, width: number, top: number, bottom: number, palette: Palette): void {
  const window = { from: plan.from, to: plan.to, width, longestJoin: JOIN[plan.unit] };
  const line = (name: string) => lineColumns(plan.axis, plan.data.column(name), window);
  const [ground, wheel, asked, delivered] = [
    line("groundSpeedKmh"),
    line("wheelSpeedKmh"),
    line("torqueRequestNm"),
    line("torqueDeliveredNm"),
  ];
  const speed = ticks(Math.max(most(ground), most(wheel), 20) * 1.1, 4);
  // Room beyond the largest torque holds the scale's name, so no line crosses it.
  const torque = ticks(Math.max(most(asked), most(delivered), 50) * 1.2, 3);
  const split = Math.round(top + (bottom - top) * 0.56);
  const up: Band = { base: split - 8, scale: -(split - 8 - top) / speed.top };
  const down: Band = { base: split + 8, scale: (bottom - split - 8) / torque.top };
  scaleLabels(pen, up, speed.top, speed.step, width, palette, plan.fontPx);
  scaleLabels(pen, down, torque.top, torque.step, width, palette, plan.fontPx, bottom);
  fillGap(pen, wheel, ground, up, palette.slip);
  fillGap(pen, asked, delivered, down, { colour: palette.held, bar: 4 });
  paintLine(pen, ground, up, palette, false);
  paintLine(pen, wheel, up, palette, true);
  paintLine(pen, delivered, down, palette, false);
  paintLine(pen, asked, down, palette, true);
  const bare = {
    timeS: plan.axis,
    slipKmh: plan.data.column("groundSpeedKmh").map((v) => (Number.isNaN(v) ? v : 0)),
    heldNm: new Float32Array(plan.axis.length),
    intervening: plan.data.seam.intervening,
  };
  const columns = seamColumns(bare, plan.from, plan.to, width, JOIN[plan.unit]);
  paintSeam(pen, { x: PAD.left, y: split, width, up: 1, down: 1 }, columns, plan.scales, palette, { ...DESK_WEIGHTS, fontPx: 0 });
  pen.font = `500 ${plan.fontPx}px "IBM Plex Sans"`;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const uprights = uprightsOf(plan, width);
  const at = Math.floor(widestPlace(uprights, PAD.left + width * 0.4, PAD.left + width * 0.97) - PAD.left);
  const place = (text: string, columns_: LineColumns, band: Band, away: number) => {
    const value = columns_.most[at];
    const y = Math.min(bottom - plan.fontPx * 0.7, Math.max(top + plan.fontPx, band.base + value * band.scale + away));
    if (!Number.isNaN(value)) word(pen, text, PAD.left + at, y, palette);
  };
  place("wheel", wheel, up, -plan.fontPx);
  place("ground", ground, up, plan.fontPx);
  // Where nothing is held back both lines are one, and near the ground line there is no room above them.
  const above = delivered.most[at] * down.scale > plan.fontPx * 2;
  if (above) place("delivered", delivered, down, -plan.fontPx);
  place(above ? "asked" : "asked, delivered", asked, down, plan.fontPx);
  pen.font = `700 ${plan.fontPx}px "IBM Plex Sans"`;
  scaleName(pen, ["Motor torque, Nm", "Torque, Nm", "Nm"], bottom - plan.fontPx * 0.7, uprights, width, palette);
  // Spinning wheels may rise into the first place: then the name stands further on.
  const under = (top + plan.fontPx * 1.5 - up.base) / up.scale;
  const nameY = top + plan.fontPx * 0.8;
  const wheelWord = Math.abs(up.base + wheel.most[at] * up.scale - plan.fontPx - nameY) < plan.fontPx * 1.4;
  const free = (x: number, long: number) => {
    const from = Math.max(0, Math.floor(x - PAD.left));
    if (wheelWord && from < at + plan.fontPx * 2 && from + long > at - plan.fontPx * 2) return null;
    return !wheel.most.slice(from, from + Math.ceil(long)).some((value) => value > under);
  };
  scaleName(pen, ["Speed, km/h", "km/h"], nameY, uprights, width, palette, free);
}

function paintClosed(pen: Pen, plan: FigurePlan, width: number, top: number, bottom: number, palette: Palette): void {
  const split = Math.round((top + bottom) / 2);
  const columns = seamColumns({ ...plan.data.seam, timeS: plan.axis }, plan.from, plan.to, width, JOIN[plan.unit]);
  const up: Band = { base: split - 6, scale: -(split - 6 - top - 40) / plan.scales.slipKmh };
  const down: Band = { base: split + 6, scale: (bottom - split - 6 - 40) / plan.scales.heldNm };
  scaleLabels(pen, up, plan.scales.slipKmh, plan.scales.slipKmh / 2, width, palette, plan.fontPx);
  scaleLabels(pen, down, plan.scales.heldNm, plan.scales.heldNm / 2, width, palette, plan.fontPx);
  paintSeam(
    pen,
    { x: PAD.left, y: split, width, up: -up.scale * plan.scales.slipKmh, down: down.scale * plan.scales.heldNm },
    columns,
    plan.scales,
    palette,
    { ...DESK_WEIGHTS, fontPx: plan.fontPx },
  );
  pen.font = `700 ${plan.fontPx}px "IBM Plex Sans"`;
  pen.textBaseline = "middle";
  const uprights = uprightsOf(plan, width);
  scaleName(pen, ["Slip, km/h", "km/h"], top + plan.fontPx * 0.8, uprights, width, palette);
  scaleName(pen, ["Held back, Nm", "Nm"], bottom - plan.fontPx * 0.8, uprights, width, palette);
}

/** Paints the figure and answers the width of its axis in px. */
export function paintFigure({ pen, width, height }: Surface, plan: FigurePlan, palette: Palette): void {
  const axis = Math.max(1, Math.floor(width - PAD.left - PAD.right));
  const top = plan.fontPx * 1.6;
  const bottom = height - plan.fontPx * 1.5;
  if (plan.reference !== null)
    paintOverlay(pen, { ...plan, reference: plan.reference, uprights: uprightsOf(plan, axis) }, axis, top, bottom, palette);
  else (plan.open ? paintOpen : paintClosed)(pen, plan, axis, top, bottom, palette);
  const posts = plan.gates
    .filter((gate) => gate.at >= plan.from && gate.at <= plan.to)
    .map((gate) => ({
      x: PAD.left + ((gate.at - plan.from) / (plan.to - plan.from)) * axis,
      name: postName(gate.gate),
      ...(gate.gate === "0-60 mph" ? { shortName: "60" } : {}),
      passed: true,
    }));
  // The cursor stands at the start first, and would cut a name that reaches over it.
  const startX = PAD.left + (Math.max(0, -plan.from) / (plan.to - plan.from)) * axis;
  paintPosts(pen, posts, 0, bottom, width, palette, plan.fontPx, false, startX);
  axisLabels(pen, plan, height, axis, palette);
}

/** Paints the cursor with its place in words under it; a number of the axis that this would cut through is covered whole. */
export function paintCursor({ pen, width, height }: Surface, at: number, text: string, axis: Axis, palette: Palette, fontPx: number): void {
  const share = (at - axis.from) / (axis.to - axis.from);
  if (!(share >= 0 && share <= 1)) return;
  const x = PAD.left + share * (width - PAD.left - PAD.right);
  for (const [colour, line, dash] of [
    [palette.sheet, 7, []],
    [palette.ink, 3, [8, 6]],
  ] as const) {
    pen.strokeStyle = colour;
    pen.lineWidth = line;
    pen.setLineDash([...dash]);
    pen.beginPath();
    pen.moveTo(x, 0);
    pen.lineTo(x, height - fontPx * 1.5);
    pen.stroke();
  }
  pen.setLineDash([]);
  pen.font = `700 ${fontPx}px "IBM Plex Sans"`;
  const half = pen.measureText(text).width / 2 + 10;
  const middle = Math.min(Math.max(half, x), width - half);
  pen.fillStyle = palette.sheet;
  pen.font = `500 ${fontPx}px "IBM Plex Sans"`;
  for (const tick of axisTicks(axis, Math.max(1, Math.floor(width - PAD.left - PAD.right)))) {
    const reach = pen.measureText(tick.text).width / 2 + 2;
    if (Math.abs(tick.x - middle) < half + reach) pen.fillRect(tick.x - reach, height - fontPx * 1.5 + 2, reach * 2, fontPx * 1.5);
  }
  pen.font = `700 ${fontPx}px "IBM Plex Sans"`;
  pen.fillStyle = palette.ink;
  pen.fillRect(middle - half, height - fontPx * 1.5, half * 2, fontPx * 1.5);
  pen.fillStyle = palette.sheet;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.fillText(text, middle, height - fontPx * 0.72);
}
