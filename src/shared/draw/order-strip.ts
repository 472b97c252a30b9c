/** Values in driving order, each group with its line of drift: hollow for one, solid for the other, as their marks are. */
import type { Comparison } from "../judge/judged-run.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";
import { number } from "../kernel/number-words.ts";
import { isSolidMark, paintGroupMark, paintMarkState } from "./group-mark.ts";
import type { Palette, Pen, Surface } from "./pen.ts";
import type { ShownRun } from "./shown-difference.ts";
import { type Spot, textOf } from "./value-strip.ts";

const RADIUS = 7;
const MOST_TICKS = 4;

export interface OrderShow {
  readonly pair: Comparison;
  /** Marks of the first and the second group. */
  readonly marks: readonly [number, number];
  /** In the order driven. */
  readonly runs: readonly ShownRun[];
  readonly selected: number | null;
}

interface Axes {
  x(place: number): number;
  y(seconds: number): number;
}

function driftLines(pen: Pen, { pair, marks, runs }: OrderShow, { x, y }: Axes, palette: Palette): void {
  const { drift } = pair;
  if (drift === null) return;
  // Where only one mark is solid, its line is.
  const hollow = isSolidMark(marks[0]) && !isSolidMark(marks[1]) ? 1 : 0;
  for (const group of [0, 1]) {
    const own = runs.flatMap((run, place) => (run.group === group && !run.aside ? [{ place, seconds: run.seconds }] : []));
    const mean = (pick: (run: (typeof own)[number]) => number) => own.reduce((sum, run) => sum + pick(run), 0) / own.length;
    const [place, seconds] = [mean((run) => run.place), mean((run) => run.seconds)];
    const stroke = (ink: string, width: number) => {
      pen.strokeStyle = ink;
      pen.lineWidth = width;
      pen.beginPath();
      for (const end of [0, runs.length - 1]) pen.lineTo(x(end), y(seconds + drift.perRun * (end - place)));
      pen.stroke();
    };
    stroke(palette.ink, group === hollow ? 6 : 3);
    if (group === hollow) stroke(palette.sheet, 2);
  }
}

/** Paints, and returns where the marks are. */
export function paintOrderStrip({ pen, width, height }: Surface, show: OrderShow, palette: Palette, px: number): Spot[] {
  const { runs, marks, selected } = show;
  if (runs.length === 0) return [];
  const seconds = runs.map((run) => run.seconds);
  const [least, most] = [Math.min(...seconds), Math.max(...seconds)];
  const margin = (most - least || 1) * 0.12;
  const digits = decimalsOf(tickStep(most - least + 2 * margin, MOST_TICKS));
  const right = px * (1.4 + digits * 0.6) + 10;
  const x = (place: number) => 16 + (runs.length < 2 ? 0 : (place / (runs.length - 1)) * (width - right - 32));
  const y = (value: number) => 6 + ((most + margin - value) / (most - least + 2 * margin)) * (height - px * 1.5 - 6);
  for (const tick of ticksBetween(least - margin, most + margin, MOST_TICKS)) {
    pen.fillStyle = palette.rule;
    pen.fillRect(0, y(tick), width - right, 1);
    textOf(pen, px, 500, palette.ink2, "right");
    pen.fillText(number(tick, digits), width, y(tick));
  }
  driftLines(pen, show, { x, y }, palette);
  // Neighbours never touch, however many runs there are.
  const radius = Math.min(RADIUS, Math.max(2.5, (x(1) - x(0)) / 2 - 2.5));
  textOf(pen, px, 500, palette.ink2, "center");
  const widest = pen.measureText(String(Math.max(...runs.map(({ id }) => id)))).width + px * 0.8;
  const every = Math.max(1, Math.ceil(((runs.length - 1) * widest) / (width - right - 32)));
  return runs.map((run, place) => {
    const at = { run: run.id, x: x(place), y: y(run.seconds) };
    paintGroupMark(pen, marks[run.group] as number, { ...at, radius }, palette);
    paintMarkState(pen, { ...at, radius }, { selected: run.id === selected, aside: run.aside }, palette);
    if (place % every === 0) {
      textOf(pen, px, 500, palette.ink2, "center");
      pen.fillText(String(run.id), at.x, height - px * 0.6);
    }
    return at;
  });
}
