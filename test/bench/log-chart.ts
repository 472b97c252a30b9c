/** Paints what a size costs on two logarithmic axes: a line that rises by one decade in one decade grows as the size does. Never fails on an empty chart. */
import type { Palette, Surface } from "../../src/shared/draw/pen.ts";
import { textOf } from "../../src/shared/draw/value-strip.ts";
import type { Series } from "./bench-data.ts";

const PX = 18;
const LEFT = 110;
const RIGHT = 260;
const TOP = 34;
const BOTTOM = 70;
const MARK = 5;
const DASHES: readonly number[][] = [[], [10, 6], [2, 6], [14, 4, 2, 4]];
const NAME_GAP = 22;

/** Whole decades around all values. */
function decades(values: readonly number[]): readonly [low: number, high: number] {
  const known = values.filter((value) => value > 0);
  if (known.length === 0) return [0, 1];
  const low = Math.floor(Math.log10(Math.min(...known)) + 1e-9);
  return [low, Math.max(low + 1, Math.ceil(Math.log10(Math.max(...known)) - 1e-9))];
}

/** 0.01, 1, 1,000: powers of ten in full. */
const powerWords = (power: number) => (power < 0 ? (10 ** power).toFixed(-power) : (10 ** power).toLocaleString("en-US"));

interface Place {
  readonly x: (size: number) => number;
  readonly y: (cost: number) => number;
}

export function paintLogChart({ pen, width, height }: Surface, series: Series, palette: Palette): void {
  const points = series.lines.flatMap((line) => line.points);
  const [left, right, top, foot] = [LEFT, width - RIGHT, TOP, height - BOTTOM];
  const [sizes, costs] = [decades(points.map(({ size }) => size)), decades(points.map(({ cost }) => cost))];
  const place: Place = {
    x: (size) => left + ((Math.log10(size) - sizes[0]) / (sizes[1] - sizes[0])) * (right - left),
    y: (cost) => foot - ((Math.log10(cost) - costs[0]) / (costs[1] - costs[0])) * (foot - top),
  };
  pen.fillStyle = palette.rule;
  for (let power = sizes[0]; power <= sizes[1]; power += 1) {
    const x = place.x(10 ** power);
    pen.fillStyle = palette.rule;
    pen.fillRect(x, top, 1, foot - top);
    textOf(pen, PX, 500, palette.ink2, "center");
    pen.fillText(powerWords(power), x, foot + PX);
  }
  for (let power = costs[0]; power <= costs[1]; power += 1) {
    const y = place.y(10 ** power);
    pen.fillStyle = palette.rule;
    pen.fillRect(left, y, right - left, 1);
    textOf(pen, PX, 500, palette.ink2, "right");
    pen.fillText(powerWords(power), left - 10, y);
  }
  textOf(pen, PX, 500, palette.ink2, "center");
  pen.fillText(series.sizeUnit, (left + right) / 2, foot + PX * 2.6);
  textOf(pen, PX, 500, palette.ink2, "left");
  pen.fillText(series.costUnit, 0, PX * 0.6);
  paintLines({ pen, width, height }, series, palette, place);
}

function paintLines({ pen }: Surface, { lines }: Series, palette: Palette, { x, y }: Place): void {
  /** Heights of the names at the lines' ends, so that none lies over another. */
  const taken: number[] = [];
  lines.forEach(({ name, points }, i) => {
    const known = points.filter(({ size, cost }) => size > 0 && cost > 0);
    const last = known.at(-1);
    if (last === undefined) return;
    pen.strokeStyle = palette.ink;
    pen.lineWidth = 3;
    pen.setLineDash([...(DASHES[i % DASHES.length] ?? [])]);
    pen.beginPath();
    for (const [k, { size, cost }] of known.entries()) {
      if (k === 0) pen.moveTo(x(size), y(cost));
      else pen.lineTo(x(size), y(cost));
    }
    pen.stroke();
    pen.setLineDash([]);
    for (const { size, cost } of known) {
      pen.beginPath();
      pen.arc(x(size), y(cost), MARK, 0, 2 * Math.PI);
      pen.fillStyle = i === 0 ? palette.ink : palette.sheet;
      pen.fill();
      pen.lineWidth = 2;
      pen.stroke();
    }
    let at = y(last.cost);
    while (taken.some((other) => Math.abs(other - at) < NAME_GAP)) at += 4;
    taken.push(at);
    textOf(pen, PX, i === 0 ? 700 : 500, palette.ink, "left");
    pen.fillText(name, x(last.size) + 14, at, RIGHT - 20);
  });
}
