/**
 * Paints lost time: one bar a row on one axis of seconds, the causes beside each other, each with its seconds where there is room. Rows are
 * groups or bands of speed.
 */
import { number } from "../kernel/number-words.ts";
import { CAUSE_WORDS } from "../tune/loss-words.ts";
import { LOSS_CAUSES, type LossCause } from "../tune/losses.ts";
import type { Palette, Pen, Surface } from "./pen.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";
import { textOf } from "./value-strip.ts";

/** A row: a name and seconds by cause. */
export interface LossBar {
  readonly name: string;
  readonly seconds: Readonly<Record<LossCause, number>>;
}

/** Shorter times would be shown as 0. */
const LEAST_S = 0.005;
const TICK_PX = 90;

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Solid: spin; hatched: held back; hollow: asked too late; dotted: no cause of its own. */
function paintCause(pen: Pen, cause: LossCause, { x, y, width, height }: Box, palette: Palette): void {
  const frame = (colour: string, line: number) => {
    pen.strokeStyle = colour;
    pen.lineWidth = line;
    pen.strokeRect(x + line / 2, y + line / 2, Math.max(0, width - line), height - line);
  };
  if (cause === "spin") {
    pen.fillStyle = palette.slip;
    pen.fillRect(x, y, width, height);
  } else if (cause === "heldBack") {
    pen.fillStyle = { colour: palette.held, bar: 4 };
    pen.fillRect(x, y, width, height);
    frame(palette.held, 3);
  } else if (cause === "askedLate") frame(palette.ink, 3);
  else {
    pen.fillStyle = palette.ink2;
    for (let dotY = y + 3; dotY < y + height - 3; dotY += 9)
      for (let dotX = x + 3; dotX < x + width - 3; dotX += 9) pen.fillRect(dotX, dotY, 3, 3);
    frame(palette.rule, 1);
  }
}

/** Ends of the axis: include every bar, also to the left of 0 where a cause is negative. */
export function lossEnds(bars: readonly LossBar[]): { least: number; most: number } {
  const sums = bars.map(({ seconds }) => LOSS_CAUSES.reduce((sum, cause) => sum + Math.max(0, seconds[cause]), 0));
  const below = bars.map(({ seconds }) => LOSS_CAUSES.reduce((sum, cause) => sum + Math.min(0, seconds[cause]), 0));
  return { least: Math.min(0, ...below), most: Math.max(0.05, ...sums) * 1.02 };
}

function paintKey({ pen, width }: Surface, y: number, palette: Palette, px: number): void {
  const each = width / LOSS_CAUSES.length;
  for (const [i, cause] of LOSS_CAUSES.entries()) {
    paintCause(pen, cause, { x: i * each, y: y - px * 0.4, width: px * 1.3, height: px * 0.8 }, palette);
    textOf(pen, px, 500, palette.ink, "left");
    pen.fillText(CAUSE_WORDS[cause], i * each + px * 1.6, y, each - px * 1.7);
  }
}

export function paintLossBars(surface: Surface, bars: readonly LossBar[], palette: Palette, px: number): void {
  const { pen, width, height } = surface;
  textOf(pen, px, 500, palette.ink, "left");
  const left = Math.min(width * 0.36, Math.max(0, ...bars.map(({ name }) => pen.measureText(name).width)) + 16);
  const key = px * 1.8;
  const foot = height - px * 1.6;
  const { least, most } = lossEnds(bars);
  const x = (seconds: number) => left + ((seconds - least) / (most - least)) * (width - left - 16);
  const cuts = Math.max(3, Math.floor((width - left) / TICK_PX));
  for (const tick of ticksBetween(least, most, cuts)) {
    pen.fillStyle = palette.rule;
    pen.fillRect(x(tick), key, 1, foot - key);
    textOf(pen, px, 500, palette.ink2, "center");
    pen.fillText(`${number(tick, decimalsOf(tickStep(most - least, cuts)))} s`, x(tick), height - px * 0.7);
  }
  paintKey(surface, px * 0.8, palette, px);
  const each = (foot - key) / Math.max(1, bars.length);
  for (const [row, { name, seconds }] of bars.entries()) {
    const [y, high] = [key + row * each + each * 0.12, each * 0.76];
    textOf(pen, px, 500, palette.ink, "left");
    pen.fillText(name, 0, y + high / 2, left - 12);
    let [right, behind] = [0, 0];
    for (const cause of LOSS_CAUSES) {
      const value = seconds[cause];
      const [from, to] = value >= 0 ? [right, right + value] : [behind + value, behind];
      if (value >= 0) right = to;
      else behind = from;
      if (Math.abs(value) < LEAST_S) continue;
      const box = { x: x(from), y, width: x(to) - x(from), height: high };
      paintCause(pen, cause, box, palette);
      words(pen, `${number(value, 2)} s`, box, palette, px);
    }
  }
}

/** Seconds on their part of the bar, on a halo, where they have room. */
function words(pen: Pen, text: string, bar: Box, palette: Palette, px: number): void {
  textOf(pen, px, 700, palette.ink, "center");
  const width = pen.measureText(text).width;
  if (width + 12 > bar.width) return;
  const [x, y] = [bar.x + bar.width / 2, bar.y + bar.height / 2];
  pen.fillStyle = palette.sheet;
  pen.fillRect(x - width / 2 - 4, y - px * 0.7, width + 8, px * 1.4);
  pen.fillStyle = palette.ink;
  pen.fillText(text, x, y);
}
