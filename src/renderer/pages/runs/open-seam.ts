/** Draws one run in full: ground and wheel speed above the ground line, delivered and requested torque below it, their gaps filled. */
import { postName } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import { widestPlace } from "../../../shared/draw/clear-places.ts";
import { HELD_KEY, HELD_LANE, type HeldMark, paintHeldKey, paintHeldMarks } from "../../../shared/draw/held-marks.ts";
import { type LineColumns, lineColumns, ticks } from "../../../shared/draw/line-columns.ts";
import type { Palette, Pen, Surface } from "../../../shared/draw/pen.ts";
import { largest, seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import { paintMomentMark } from "../../../shared/draw/moment-mark.ts";
import { DESK_WEIGHTS, linesTaken, NAME_LINE, namesOf, paintPosts, paintSeam } from "../../../shared/draw/seam-painter.ts";
import { type AxisUnit, type Band, type Field, fillGap, JOIN, PAD, paintLine, scaleLabels, scaleName, word } from "./figure-parts.ts";
import { paintOverlay } from "./overlay-figure.ts";
import type { RunData } from "./run-data.ts";

export interface FigurePlan {
  readonly data: RunData;
  /** The run underneath, on its own axis; null for one run alone. */
  readonly reference: { readonly data: RunData; readonly axis: Float32Array; readonly shiftS: number } | null;
  /** Time or distance, rising. */
  readonly axis: Float32Array;
  readonly from: number;
  readonly to: number;
  readonly unit: AxisUnit;
  readonly open: boolean;
  readonly scales: SeamScales;
  readonly fontPx: number;
  /** Gates on the axis, in order. */
  readonly gates: readonly { readonly gate: string; readonly at: number }[];
  /** Where something was marked or noted while driving, on the axis. */
  readonly moments: readonly number[];
  /** Each time torque was held back, on the axis; shown of one run alone. */
  readonly marks: readonly HeldMark[];
}

const most = (line: LineColumns) => largest(line.most);

/** x of every upright line in the figure: posts, and the start, where the cursor first stands. */
function uprightsOf({ from, to, gates }: FigurePlan, width: number): number[] {
  const x = (at: number) => PAD.left + ((at - from) / (to - from)) * width;
  return [0, ...gates.map((gate) => gate.at)].filter((at) => at >= from && at <= to).map(x);
}

type Axis = Pick<FigurePlan, "from" | "to" | "unit">;

/** The numbers of the axis and their places. */
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

/** The four lines of an open seam, by pixel column, and their bands. */
interface OpenLines {
  readonly ground: LineColumns;
  readonly wheel: LineColumns;
  readonly asked: LineColumns;
  readonly delivered: LineColumns;
  readonly speed: ReturnType<typeof ticks>;
  readonly torque: ReturnType<typeof ticks>;
  /** y of the ground line. */
  readonly split: number;
  readonly up: Band;
  readonly down: Band;
}

/** Heights of letters that the scale's name takes at the figure's foot, a line's own width with them. */
const NAMED = 1.6;

function openLines(plan: FigurePlan, { width, top, bottom }: Field): OpenLines {
  const window = { from: plan.from, to: plan.to, width, longestJoin: JOIN[plan.unit] };
  const line = (name: string) => lineColumns(plan.axis, plan.data.column(name), window);
  const [ground, wheel] = [line("groundSpeedKmh"), line("wheelSpeedKmh")];
  const [asked, delivered] = [line("torqueRequestNm"), line("torqueDeliveredNm")];
  const speed = ticks(Math.max(most(ground), most(wheel), units().bandStep) * 1.1, 4);
  const split = Math.round(top + (bottom - top) * 0.56);
  // Room beyond the largest torque is for the scale's name, so that no line crosses it: in a low figure too.
  const named = Math.min(0.5, (NAMED * plan.fontPx) / (bottom - split - 8));
  const torque = ticks(Math.max(most(asked), most(delivered), 50) / (1 - named), 3);
  const up = { base: split - 8, scale: -(split - 8 - top) / speed.top };
  const down = { base: split + 8, scale: (bottom - split - 8) / torque.top };
  return { ground, wheel, asked, delivered, speed, torque, split, up, down };
}

/** The ground line below the speeds: plain, with marks where the control intervened. */
function paintBareSeam(pen: Pen, plan: FigurePlan, split: number, width: number, palette: Palette): void {
  const bare = {
    timeS: plan.axis,
    slipKmh: plan.data.column("groundSpeedKmh").map((v) => (Number.isNaN(v) ? v : 0)),
    heldNm: new Float32Array(plan.axis.length),
    intervening: plan.data.seam.intervening,
  };
  const columns = seamColumns(bare, plan.from, plan.to, width, JOIN[plan.unit]);
  const place = { x: PAD.left, y: split, width, up: 1, down: 1 };
  paintSeam(pen, { place, columns, scales: plan.scales, weights: { ...DESK_WEIGHTS, fontPx: 0 } }, palette);
}

/** Names the lines where they are furthest from any upright, and both scales away from them. */
function nameLines(pen: Pen, plan: FigurePlan, lines: OpenLines, field: Field, palette: Palette): void {
  const { ground, wheel, asked, delivered, up, down } = lines;
  const { width, top, bottom } = field;
  const { fontPx } = plan;
  pen.font = `500 ${fontPx}px "IBM Plex Sans"`;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const uprights = uprightsOf(plan, width);
  const at = Math.floor(widestPlace(uprights, PAD.left + width * 0.4, PAD.left + width * 0.97) - PAD.left);
  let lastY = Number.NEGATIVE_INFINITY;
  // Words wider than the room between two posts would be crossed by one.
  const room = 2 * Math.min(...uprights.map((x) => Math.abs(x - PAD.left - at)), width) - fontPx * 0.4;
  const place = (text: string, { most: values }: LineColumns, band: Band, away: number) => {
    if (pen.measureText(text).width > room) return;
    const y = Math.min(bottom - fontPx * 0.7, Math.max(top + fontPx, band.base + values[at] * band.scale + away));
    // In a low figure both names of a pair may come to one place: the first stays.
    if (Number.isNaN(values[at]) || Math.abs(y - lastY) < fontPx) return;
    lastY = y;
    word(pen, text, PAD.left + at, y, palette);
  };
  // Each name is on its own line's side of the pair: while braking, the wheel is slower.
  const wheelAbove = !(wheel.most[at] < ground.most[at]);
  place("wheel", wheel, up, wheelAbove ? -fontPx : fontPx);
  place("ground", ground, up, wheelAbove ? fontPx : -fontPx);
  // Where nothing is held back, both lines are one, and near the ground line there is no room above them.
  const [upper, lower, words] =
    delivered.most[at] > asked.most[at]
      ? ([asked, delivered, ["asked", "delivered"]] as const)
      : ([delivered, asked, ["delivered", "asked"]] as const);
  const above = upper.most[at] * down.scale > fontPx * 2;
  if (above) place(words[0], upper, down, -fontPx);
  place(above ? words[1] : "asked, delivered", lower, down, fontPx);
  pen.font = `700 ${fontPx}px "IBM Plex Sans"`;
  scaleName(pen, ["Motor torque, Nm", "Torque, Nm", "Nm"], { y: bottom - fontPx * 0.7, uprights, width }, palette);
  // Spinning wheels may reach the first place: then the name is put further on.
  const under = (top + fontPx * 1.5 - up.base) / up.scale;
  const nameY = top + fontPx * 0.8;
  const upperWord =
    Math.abs(up.base + Math.max(wheel.most[at], wheelAbove ? 0 : ground.most[at]) * up.scale - fontPx - nameY) < fontPx * 1.4;
  const free = (x: number, long: number) => {
    const from = Math.max(0, Math.floor(x - PAD.left));
    if (upperWord && from < at + fontPx * 2 && from + long > at - fontPx * 2) return null;
    return !wheel.most.slice(from, from + Math.ceil(long)).some((value) => value > under);
  };
  scaleName(pen, [`Speed, ${units().speed}`, units().speed], { y: nameY, uprights, width, free }, palette);
}

function paintOpen(pen: Pen, plan: FigurePlan, field: Field, palette: Palette): void {
  const { width, bottom } = field;
  const { fontPx } = plan;
  const lines = openLines(plan, field);
  const { ground, wheel, asked, delivered, speed, torque, up, down } = lines;
  scaleLabels(pen, { band: up, ...speed, width, fontPx }, palette);
  scaleLabels(pen, { band: down, ...torque, width, fontPx, lowest: bottom }, palette);
  fillGap(pen, wheel, ground, up, palette.slip);
  fillGap(pen, asked, delivered, down, { colour: palette.held, bar: 4 });
  paintLine(pen, ground, up, palette, false);
  paintLine(pen, wheel, up, palette, true);
  paintLine(pen, delivered, down, palette, false);
  paintLine(pen, asked, down, palette, true);
  paintBareSeam(pen, plan, lines.split, width, palette);
  nameLines(pen, plan, lines, field, palette);
}

function paintClosed(pen: Pen, plan: FigurePlan, { width, top, bottom }: Field, palette: Palette): void {
  const split = Math.round((top + bottom) / 2);
  const columns = seamColumns({ ...plan.data.seam, timeS: plan.axis }, plan.from, plan.to, width, JOIN[plan.unit]);
  const up: Band = { base: split - 6, scale: -(split - 6 - top - 40) / plan.scales.slipKmh };
  const down: Band = { base: split + 6, scale: (bottom - split - 6 - 40) / plan.scales.heldNm };
  const { scales, fontPx } = plan;
  const { perKmh, speed } = scales.units;
  const slip = Math.round(scales.slipKmh * perKmh);
  scaleLabels(pen, { band: { ...up, scale: up.scale / perKmh }, top: slip, step: slip / 2, width, fontPx }, palette);
  scaleLabels(pen, { band: down, top: scales.heldNm, step: scales.heldNm / 2, width, fontPx }, palette);
  const place = { x: PAD.left, y: split, width, up: -up.scale * scales.slipKmh, down: down.scale * scales.heldNm };
  paintSeam(pen, { place, columns, scales, weights: { ...DESK_WEIGHTS, fontPx } }, palette);
  pen.font = `700 ${plan.fontPx}px "IBM Plex Sans"`;
  pen.textBaseline = "middle";
  const uprights = uprightsOf(plan, width);
  scaleName(pen, [`Slip, ${speed}`, speed], { y: top + plan.fontPx * 0.8, uprights, width }, palette);
  scaleName(pen, ["Held back, Nm", "Nm"], { y: bottom - plan.fontPx * 0.8, uprights, width }, palette);
}

/** Gates on the axis as posts, and where their names may stand: beyond the start, as the cursor stands there first and would cut a name. */
function postsOf(pen: Pen, plan: FigurePlan, axis: number, { bottom, width }: { bottom: number; width: number }) {
  const at = (place: number) => PAD.left + ((place - plan.from) / (plan.to - plan.from)) * axis;
  const posts = plan.gates
    .filter((gate) => gate.at >= plan.from && gate.at <= plan.to)
    .map((gate) => ({ x: at(gate.at), name: postName(gate.gate), passed: true }))
    .sort((a, b) => a.x - b.x);
  const place = { top: 0, bottom, from: at(Math.max(0, plan.from)), to: width, fontPx: plan.fontPx, lines: 2, drive: false };
  return { posts, place, lines: Math.max(1, linesTaken(namesOf(pen, posts, place))) };
}

/** Paints the figure; returns the width of its axis in px. */
export function paintFigure({ pen, width, height }: Surface, plan: FigurePlan, palette: Palette): void {
  const axis = Math.max(1, Math.floor(width - PAD.left - PAD.right));
  const marks = plan.reference === null ? plan.marks : [];
  const foot = height - plan.fontPx * 1.5;
  const bottom = foot - (marks.length === 0 ? 0 : plan.fontPx * (HELD_LANE + HELD_KEY));
  const { posts, place, lines } = postsOf(pen, plan, axis, { bottom, width });
  const field = { width: axis, top: plan.fontPx * (0.45 + NAME_LINE * lines), bottom };
  if (plan.reference !== null) paintOverlay(pen, { ...plan, reference: plan.reference, uprights: uprightsOf(plan, axis) }, field, palette);
  else (plan.open ? paintOpen : paintClosed)(pen, plan, field, palette);
  paintPosts(pen, posts, place, palette);
  for (const at of plan.moments) {
    const share = (at - plan.from) / (plan.to - plan.from);
    if (share >= 0 && share <= 1) paintMomentMark(pen, PAD.left + share * axis, bottom - 2, palette);
  }
  axisLabels(pen, plan, height, axis, palette);
  if (marks.length === 0) return;
  const lane = { x: PAD.left, y: bottom + plan.fontPx * 0.15, width: axis, from: plan.from, to: plan.to, px: plan.fontPx };
  paintHeldMarks(pen, marks, lane, palette);
  paintHeldKey(pen, { ...lane, y: foot - plan.fontPx * HELD_KEY }, palette);
}

export interface Cursor {
  /** The cursor's place on the axis. */
  readonly at: number;
  readonly text: string;
  readonly axis: Axis;
  readonly fontPx: number;
}

/** Paints the cursor with its place in words below it; a number of the axis that this would touch is covered completely. */
export function paintCursor({ pen, width, height }: Surface, { at, text, axis, fontPx }: Cursor, palette: Palette): void {
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
