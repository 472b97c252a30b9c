/** Every run on one axis of seconds, ring or disc, stacked where they touch; the gain hung from the first group's median, solid where sure, hollow where perhaps. */
import type { Comparison } from "../../../shared/judge/judged-run.ts";
import { apart, percent } from "../../../shared/judge/wording.ts";
import { decimalsOf, ticksBetween, tickStep } from "../../../shared/report/ticks.ts";
import { number, quantity } from "../../app/format.ts";
import { paintGroupMark, paintMarkState } from "../../draw/group-mark.ts";
import type { Palette, Surface } from "../../draw/palette.ts";
import type { ShownDifference, ShownRun } from "./shown-difference.ts";

export interface StripShow {
  readonly pair: Comparison;
  readonly runs: readonly ShownRun[];
  readonly difference: ShownDifference | null;
  readonly selected: number | null;
}

/** A mark that can be clicked. */
export interface Spot {
  readonly run: number;
  readonly x: number;
  readonly y: number;
}

const RADIUS = 8;

export function textOf(context: CanvasRenderingContext2D, px: number, weight: 500 | 700, colour: string, align: CanvasTextAlign): void {
  context.font = `${weight} ${px}px "IBM Plex Sans"`;
  context.fillStyle = colour;
  context.textAlign = align;
  context.textBaseline = "middle";
}

function placed(runs: readonly ShownRun[], x: (seconds: number) => number, y: number): { run: ShownRun; x: number; y: number }[] {
  const spots: { run: ShownRun; x: number; y: number }[] = [];
  for (const run of [...runs].sort((a, b) => a.seconds - b.seconds)) {
    const at = { run, x: x(run.seconds), y };
    // By turns above and below the row, so that a dense group keeps to its band.
    for (let step = 1; spots.some((other) => Math.hypot(other.x - at.x, other.y - at.y) < 2 * RADIUS + 5); step += 1)
      at.y = y + (step % 2 === 1 ? -1 : 1) * Math.ceil(step / 2) * RADIUS;
    spots.push(at);
  }
  return spots;
}

/** Rod between two places: solid, or hollow. */
function rod(context: CanvasRenderingContext2D, from: number, to: number, y: number, hollow: boolean, palette: Palette): void {
  const [left, right] = [Math.min(from, to), Math.max(from, to)];
  context.fillStyle = palette.ink;
  context.fillRect(left, y - 9, right - left, 18);
  if (!hollow || right - left < 6) return;
  context.fillStyle = palette.sheet;
  context.fillRect(left + 3, y - 6, right - left - 6, 12);
}

function gain(
  context: CanvasRenderingContext2D,
  show: ShownDifference,
  hung: number,
  x: (seconds: number) => number,
  y: number,
  top: number,
  px: number,
  palette: Palette,
): void {
  const { low, high, shift } = show;
  const [near, far] = Math.abs(low) < Math.abs(high) ? [low, high] : [high, low];
  const holdsZero = low <= 0 && high >= 0;
  context.fillStyle = palette.ink;
  for (let at = top; at < y - 12; at += 9) context.fillRect(x(hung) - 1.5, at, 3, 3);
  if (holdsZero) rod(context, x(hung + low), x(hung + high), y, true, palette);
  else {
    rod(context, x(hung + near), x(hung + far), y, true, palette);
    rod(context, x(hung), x(hung + near), y, false, palette);
  }
  context.fillStyle = palette.sheet;
  context.fillRect(x(hung) - 5, y - 16, 10, 32);
  context.fillStyle = palette.ink;
  context.fillRect(x(hung) - 4, y - 15, 8, 30);
  context.fillStyle = palette.sheet;
  context.fillRect(x(hung) - 1, y - 12, 2, 24);
  context.fillRect(x(hung + shift) - 8, y - 16, 16, 32);
  context.fillStyle = palette.ink;
  context.fillRect(x(hung + shift) - 5, y - 15, 10, 30);
  textOf(context, px, 700, palette.ink, "center");
  context.fillText(quantity(Math.abs(shift), "s", 2), x(hung + shift), y - 32);
  const end = (value: number) => context.fillText(number(Math.abs(value), 2), x(hung + value), y + 28);
  textOf(context, px, 500, palette.ink, "center");
  end(far);
  if (Math.abs(x(hung + near) - x(hung + far)) > 3 * px) end(near);
}

/** Paints and gives where the marks stand. */
export function paintValueStrip(
  { context, width, height }: Surface,
  { pair, runs, difference, selected }: StripShow,
  palette: Palette,
  px: number,
): Spot[] {
  const { a, b } = pair;
  const hung = a.median;
  const ends = difference !== null && hung !== null ? [hung + difference.low, hung + difference.high, hung] : [];
  const all = [...runs.map((run) => run.seconds), ...ends];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const margin = (most - least || 1) * 0.05;
  const names = apart([a.label, b.label]);
  textOf(context, px, 500, palette.ink, "left");
  const room = (text: string) => context.measureText(text).width;
  const left = Math.min(width * 0.36, Math.max(28 + Math.max(...names.map(room)) + room("00"), room("gain 100 %")) + 36);
  const right = 18;
  const x = (seconds: number) => left + ((seconds - least + margin) / (most - least + 2 * margin)) * (width - left - right);
  const rows = [height * 0.17, height * 0.42] as const;
  const gainY = height * 0.72;
  const foot = height - px * 0.7;
  const ticks = ticksBetween(least - margin, most + margin, Math.max(3, Math.floor((width - left) / 90)));
  const digits = decimalsOf(tickStep(most - least + 2 * margin, Math.max(3, Math.floor((width - left) / 90))));
  for (const tick of ticks) {
    context.fillStyle = palette.rule;
    context.fillRect(x(tick), 4, 1, height - 8 - px * 1.4);
    textOf(context, px, 500, palette.ink2, "center");
    context.fillText(number(tick, digits), x(tick), foot);
  }
  textOf(context, px, 500, palette.ink2, "left");
  context.fillText("Seconds", 0, foot);
  const spots: Spot[] = [];
  [a, b].forEach((group, i) => {
    const y = rows[i] as number;
    paintGroupMark(context, i, 11, y, RADIUS, palette);
    textOf(context, px, 500, palette.ink, "left");
    context.fillText(names[i] as string, 28, y, left - 84);
    textOf(context, px, 500, palette.ink2, "right");
    context.fillText(String(group.values.length), left - 22, y);
    for (const spot of placed(
      runs.filter((run) => run.group === i),
      x,
      y,
    )) {
      paintGroupMark(context, i, spot.x, spot.y, RADIUS, palette);
      paintMarkState(context, spot.x, spot.y, RADIUS, { selected: spot.run.id === selected, aside: spot.run.aside }, palette);
      spots.push({ run: spot.run.id, x: spot.x, y: spot.y });
    }
  });
  if (difference !== null && hung !== null) {
    textOf(context, px, 500, palette.ink, "left");
    context.fillText(difference.shift <= 0 ? "gain" : "loss", 0, gainY);
    textOf(context, px, 500, palette.ink2, "right");
    context.fillText(percent(difference.coverage), left - 22, gainY);
    gain(context, difference, hung, x, gainY, rows[1] + 22, px, palette);
  }
  return spots;
}
