/**
 * What each setting is worth as a rod with its 95 % interval beside 0, and below it every run's residual in driving order: what the model does not
 * explain must look like chance.
 */
import type { Response } from "../judge/response.ts";
import { number } from "../kernel/number-words.ts";
import type { Palette, Surface } from "./pen.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";
import { textOf } from "./value-strip.ts";

/** Height of the picture: a row for each setting, then the residuals. */
export const responseHeight = (factors: number, px: number) => Math.round(px * (2.2 * factors + 9));

interface Axis {
  readonly x: (seconds: number) => number;
  readonly most: number;
}

function axisOf({ factors }: Response, left: number, right: number): Axis {
  const ends = factors.flatMap(({ worth }) => (worth === null ? [] : [Math.abs(worth.seconds) + worth.plusMinus95]));
  const most = Math.max(...ends, 0.01);
  return { most, x: (seconds) => left + ((seconds + most) / (2 * most)) * (right - left) };
}

export function paintResponse(surface: Surface, response: Response, palette: Palette, px: number): void {
  const { pen, width } = surface;
  const left = Math.min(width * 0.4, px * 12);
  const right = width - px;
  const { x, most } = axisOf(response, left, right);
  const row = px * 2.2;
  const foot = row * response.factors.length;
  const parts = Math.max(2, Math.floor((right - left) / (px * 6)));
  const digits = decimalsOf(tickStep(2 * most, parts));
  for (const tick of ticksBetween(-most, most, parts)) {
    pen.fillStyle = palette.rule;
    pen.fillRect(x(tick), 0, 1, foot);
    textOf(pen, px * 0.8, 500, palette.ink2, "center");
    pen.fillText(number(tick, digits), x(tick), foot + px * 0.8);
  }
  textOf(pen, px * 0.8, 500, palette.ink2, "left");
  pen.fillText("quicker < 0 s", 0, foot + px * 0.8, left - px);
  pen.fillStyle = palette.ink;
  pen.fillRect(x(0) - 1, 0, 2, foot);
  response.factors.forEach(({ name, worth }, i) => {
    const y = row * (i + 0.5);
    textOf(pen, px, 500, palette.ink, "left");
    pen.fillText(name, 0, y, left - px);
    if (worth === null) {
      textOf(pen, px * 0.8, 500, palette.ink2, "left");
      pen.fillText("unknown", x(0) + px * 0.5, y);
      return;
    }
    pen.fillStyle = palette.ink;
    pen.fillRect(
      x(worth.seconds - worth.plusMinus95),
      y - 2,
      x(worth.seconds + worth.plusMinus95) - x(worth.seconds - worth.plusMinus95),
      4,
    );
    pen.fillRect(x(worth.seconds) - 5, y - px * 0.5, 10, px);
  });
  paintResiduals(surface, response, palette, { left, right, top: foot + px * 2.6, px });
}

interface Place {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly px: number;
}

function paintResiduals({ pen }: Surface, { points }: Response, palette: Palette, { left, right, top, px }: Place): void {
  const most = Math.max(...points.map(({ residual }) => Math.abs(residual)), 1e-6);
  const half = px * 2.4;
  const middle = top + half;
  textOf(pen, px, 500, palette.ink, "left");
  pen.fillText("residuals", 0, middle - px * 0.6, left - px);
  textOf(pen, px * 0.8, 500, palette.ink2, "left");
  pen.fillText(`\u00b1 ${number(most, 3)} s`, 0, middle + px * 0.6, left - px);
  pen.fillStyle = palette.rule;
  pen.fillRect(left, middle - half, right - left, 1);
  pen.fillRect(left, middle + half, right - left, 1);
  pen.fillStyle = palette.ink;
  pen.fillRect(left, middle - 0.5, right - left, 1);
  points.forEach(({ residual }, i) => {
    const at = left + ((i + 0.5) / points.length) * (right - left);
    pen.beginPath();
    pen.arc(at, middle + (residual / most) * half, 3.5, 0, 2 * Math.PI);
    pen.fill();
  });
  textOf(pen, px * 0.8, 500, palette.ink2, "center");
  pen.fillText("in the order driven", (left + right) / 2, middle + half + px * 0.9);
}
