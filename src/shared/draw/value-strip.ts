/**
 * Every run on one axis of seconds, with its group's mark, stacked where they would touch. The gain starts at the first group's median:
 * solid where it is sure, hollow where it is possible.
 */
import type { Comparison } from "../judge/judged-run.ts";
import { apart, percent } from "../judge/wording.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";
import { number, quantity } from "../kernel/number-words.ts";
import { paintGroupMark, paintMarkState } from "./group-mark.ts";
import type { Palette, Pen, Surface } from "./pen.ts";
import { stackMarks } from "./stack-marks.ts";
import type { ShownDifference, ShownRun } from "./shown-difference.ts";

export interface StripShow {
  readonly pair: Comparison;
  /** Marks of the first and the second group. */
  readonly marks: readonly [number, number];
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
/** Space between the bands of two groups, and from the second band to the gain, px. */
const BETWEEN = 4;

export function textOf(pen: Pen, px: number, weight: 500 | 700, colour: string, align: Pen["textAlign"]): void {
  pen.font = `${weight} ${px}px "IBM Plex Sans"`;
  pen.fillStyle = colour;
  pen.textAlign = align;
  pen.textBaseline = "middle";
}

/** A rod between two places: solid, or hollow. */
function rod(pen: Pen, { from, to, y, hollow }: { from: number; to: number; y: number; hollow: boolean }, palette: Palette): void {
  const [left, right] = [Math.min(from, to), Math.max(from, to)];
  pen.fillStyle = palette.ink;
  pen.fillRect(left, y - 9, right - left, 18);
  if (!hollow || right - left < 6) return;
  pen.fillStyle = palette.sheet;
  pen.fillRect(left + 3, y - 6, right - left - 6, 12);
}

interface Word {
  readonly text: string;
  readonly at: number;
  readonly half: number;
}

/** The gain and its place, px. */
interface Gain {
  readonly show: ShownDifference;
  /** The seconds at which the gain starts. */
  readonly hung: number;
  readonly x: (seconds: number) => number;
  readonly y: number;
  /** Height at which its dotted line begins. */
  readonly top: number;
  /** Its words end here at the latest. */
  readonly most: number;
  readonly px: number;
}

function gain(pen: Pen, { show, hung, x, y, top, most, px }: Gain, palette: Palette): void {
  const { low, high, shift } = show;
  const [near, far] = Math.abs(low) < Math.abs(high) ? [low, high] : [high, low];
  const holdsZero = low <= 0 && high >= 0;
  pen.fillStyle = palette.ink;
  for (let at = top; at < y - 12; at += 9) pen.fillRect(x(hung) - 1.5, at, 3, 3);
  if (holdsZero) rod(pen, { from: x(hung + low), to: x(hung + high), y, hollow: true }, palette);
  else {
    rod(pen, { from: x(hung + near), to: x(hung + far), y, hollow: true }, palette);
    rod(pen, { from: x(hung), to: x(hung + near), y, hollow: false }, palette);
  }
  pen.fillStyle = palette.sheet;
  pen.fillRect(x(hung) - 5, y - 16, 10, 32);
  pen.fillStyle = palette.ink;
  pen.fillRect(x(hung) - 4, y - 15, 8, 30);
  pen.fillStyle = palette.sheet;
  pen.fillRect(x(hung) - 1, y - 12, 2, 24);
  pen.fillRect(x(hung + shift) - 8, y - 16, 16, 32);
  pen.fillStyle = palette.ink;
  pen.fillRect(x(hung + shift) - 5, y - 15, 10, 30);
  /** Words stay completely inside the figure. */
  const inside = (text: string, at: number) => {
    const half = pen.measureText(text).width / 2;
    return { text, at: Math.min(most - half, Math.max(half, at)), half };
  };
  textOf(pen, px, 700, palette.ink, "center");
  const middle = inside(quantity(Math.abs(shift), "s", 2), x(hung + shift));
  pen.fillText(middle.text, middle.at, y - 16 - px * 0.8);
  textOf(pen, px, 500, palette.ink, "center");
  const [outer, inner] = [far, near].map((value) => inside(number(Math.abs(value), 2), x(hung + value))) as [Word, Word];
  pen.fillText(outer.text, outer.at, y + 16 + px * 0.6);
  // Where there is no room for both ends, only the far one is shown: it is the more careful one.
  if (Math.abs(outer.at - inner.at) > outer.half + inner.half + px * 0.4) pen.fillText(inner.text, inner.at, y + 16 + px * 0.6);
}

/** So many marks always find a place. */
const FEW_RUNS = 30;

/** Paints, and returns where the marks are. */
export function paintValueStrip(
  { pen, width, height }: Surface,
  { pair, marks, runs, difference, selected }: StripShow,
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
  textOf(pen, px, 500, palette.ink, "left");
  const room = (text: string) => pen.measureText(text).width;
  // "336 not drawn": only of many runs, and a figure that is cut reads like another one.
  const crowd = runs.length > FEW_RUNS ? room(`${runs.length} not drawn`) : 0;
  const left = Math.max(
    crowd + 26,
    Math.min(width * 0.36, Math.max(28 + Math.max(...names.map(room)) + room("00"), room("gain 100 %")) + 36),
  );
  const right = 18;
  const x = (seconds: number) => left + ((seconds - least + margin) / (most - least + 2 * margin)) * (width - left - right);
  const rows = [height * 0.17, height * 0.42] as const;
  // Half the distance to the other group, above the gain's own number.
  const band = (rows[1] - rows[0]) / 2 - BETWEEN;
  const gainY = Math.max(height * 0.7, rows[1] + band + BETWEEN + px * 1.4 + 16);
  const foot = height - px * 0.7;
  const ticks = ticksBetween(least - margin, most + margin, Math.max(3, Math.floor((width - left) / 90)));
  const digits = decimalsOf(tickStep(most - least + 2 * margin, Math.max(3, Math.floor((width - left) / 90))));
  for (const tick of ticks) {
    pen.fillStyle = palette.rule;
    pen.fillRect(x(tick), 4, 1, height - 8 - px * 1.4);
    textOf(pen, px, 500, palette.ink2, "center");
    pen.fillText(number(tick, digits), x(tick), foot);
  }
  textOf(pen, px, 500, palette.ink2, "left");
  pen.fillText("Seconds", 0, foot);
  const spots: Spot[] = [];
  /** Selected marks lie over their neighbours. */
  const frames: (() => void)[] = [];
  [a, b].forEach((group, i) => {
    const y = rows[i];
    paintGroupMark(pen, marks[i] as number, { x: 11, y, radius: RADIUS }, palette);
    textOf(pen, px, 500, palette.ink, "left");
    pen.fillText(names[i] as string, 28, y, left - 84);
    const own = runs.filter((run) => run.group === i);
    const { radius, away } = stackMarks(
      own.map((run) => x(run.seconds)),
      RADIUS,
      band,
    );
    const left_ = away.filter((at) => at === null).length;
    textOf(pen, px, 500, palette.ink2, "right");
    pen.fillText(String(group.values.length), left - 22, y);
    // Below the group's own line: beside its name there is no room on a phone.
    if (left_ > 0) pen.fillText(`${left_} not drawn`, left - 22, y + px * 1.1);
    own.forEach((run, at) => {
      const off = away[at];
      if (off === null || off === undefined) return;
      const mark = { x: x(run.seconds), y: y + off, radius };
      paintGroupMark(pen, marks[i] as number, mark, palette);
      paintMarkState(pen, mark, { selected: false, aside: run.aside }, palette);
      spots.push({ run: run.id, x: mark.x, y: mark.y });
      if (run.id === selected) frames.push(() => paintMarkState(pen, mark, { selected: true, aside: false }, palette));
    });
  });
  for (const frame of frames) frame();
  if (difference !== null && hung !== null) {
    textOf(pen, px, 500, palette.ink, "left");
    pen.fillText(difference.shift <= 0 ? "gain" : "loss", 0, gainY);
    textOf(pen, px, 500, palette.ink2, "right");
    pen.fillText(percent(difference.coverage), left - 22, gainY);
    gain(pen, { show: difference, hung, x, y: gainY, top: rows[1] + band + BETWEEN, most: width, px }, palette);
  }
  return spots;
}
