/** Points over named places, painted for files and paper: a line a series, discs or rings, its name at its last point. A series without a known value paints nothing. */
import { number } from "../kernel/number-words.ts";
import type { Palette, Surface } from "./pen.ts";
import { type PointChart, pointEnds } from "./spin-charts.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";
import { textOf } from "./value-strip.ts";

const CUTS = 4;

/** Over the line's last point, else under it, else the nearest place where no other name stands; where there is none, over it all the same. */
function nameHeight(up: number, [top, foot]: readonly [number, number], px: number, taken: readonly number[]): number {
  const over = up - px * 0.9;
  const places = [over, up + px * 0.9, ...taken.flatMap((other) => [other - px * 1.1, other + px * 1.1])];
  const free = (at: number) => at >= top && at <= foot && taken.every((other) => Math.abs(at - other) >= px);
  const [first, second, ...others] = places;
  const near = others.sort((a, b) => Math.abs(a - up) - Math.abs(b - up));
  return [first, second, ...near].find((at) => at !== undefined && free(at)) ?? over;
}

export function paintPoints({ pen, width, height }: Surface, chart: PointChart, palette: Palette, px: number): void {
  const { least, most } = pointEnds(chart);
  const [left, right, top, foot] = [px * 3.6, width - px * 1.5, px * 1.6, height - px * 3];
  const x = (place: number) => left + ((place + 0.5) / chart.places.length) * (right - left);
  const y = (value: number) => foot - ((value - least) / (most - least)) * (foot - top);
  for (const tick of ticksBetween(least, most, CUTS)) {
    pen.fillStyle = palette.rule;
    pen.fillRect(left, y(tick), right - left, 1);
    textOf(pen, px, 500, palette.ink2, "right");
    pen.fillText(`${number(tick, decimalsOf(tickStep(most - least, CUTS)))} ${chart.unit}`.trim(), left - 8, y(tick));
  }
  textOf(pen, px, 500, palette.ink2, "center");
  for (const [i, place] of chart.places.entries()) pen.fillText(place, x(i), foot + px * 0.9);
  pen.fillText(chart.placesUnit, (left + right) / 2, height - px * 0.7);
  const named: number[] = [];
  for (const { name, values, solid } of chart.lines) {
    const known = values.flatMap((value, i) => (value === null ? [] : [{ at: x(i), up: y(value) }]));
    const last = known.at(-1);
    if (last === undefined) continue;
    pen.strokeStyle = palette.ink;
    pen.lineWidth = 2;
    pen.beginPath();
    for (const [i, { at, up }] of known.entries()) i === 0 ? pen.moveTo(at, up) : pen.lineTo(at, up);
    pen.stroke();
    for (const { at, up } of known) {
      pen.beginPath();
      pen.arc(at, up, 5, 0, 2 * Math.PI);
      pen.fillStyle = solid ? palette.ink : palette.sheet;
      pen.fill();
      pen.stroke();
    }
    textOf(pen, px, 700, palette.ink, "right");
    const at = nameHeight(last.up, [top - px * 0.5, foot - px * 0.6], px, named);
    named.push(at);
    pen.lineWidth = 6;
    pen.strokeStyle = palette.sheet;
    pen.strokeText(name, right, at);
    pen.fillText(name, right, at);
  }
}
