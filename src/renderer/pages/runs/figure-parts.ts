/** Parts that the run figures share: lines in pixel columns, grid, words with a halo. Unknown columns break a line. */
import { clearPlace } from "../../../shared/draw/clear-places.ts";
import type { LineColumns } from "../../../shared/draw/line-columns.ts";
import type { Ink, Palette, Pen } from "../../../shared/draw/pen.ts";
import { type Edges, fillBetween, thickened } from "../../../shared/draw/spans.ts";
import type { Units } from "../../../shared/kernel/shown-units.ts";

/** Room left of the figure for numbers, and right of it, px. */
export const PAD = { left: 64, right: 8 } as const;

export type AxisUnit = "s" | Units["length"];

/** Samples further apart than this on the axis are not joined. */
export const JOIN: Readonly<Record<AxisUnit, number>> = { s: 0.3, m: 10, ft: 33 };

/** A scale's place in the figure. */
export interface Band {
  readonly base: number;
  /** px per unit; negative means upwards. */
  readonly scale: number;
}

/** A line's columns as edges in a band. */
function edgesOf({ least, most }: LineColumns, { base, scale }: Band): Edges {
  const y = (column: Float32Array) => column.map((value) => base + value * scale);
  return scale < 0 ? { upper: y(most), lower: y(least) } : { upper: y(least), lower: y(most) };
}

/** A solid line (measured) or a hollow one (asked for, or the run compared with). */
export function paintLine(pen: Pen, line: LineColumns, band: Band, palette: Palette, hollow: boolean): void {
  const edges = edgesOf(line, band);
  for (const [width, colour] of hollow
    ? ([
        [6, palette.ink],
        [2.5, palette.sheet],
      ] as const)
    : ([[3, palette.ink]] as const)) {
    pen.fillStyle = colour;
    fillBetween(pen, thickened(edges, width / 2), PAD.left);
  }
}

/** Fills between two lines wherever the first is above the second; only where both are known. */
export function fillGap(pen: Pen, over: LineColumns, under: LineColumns, { base, scale }: Band, fill: Ink): void {
  const y = (column: Float32Array) => column.map((value, c) => (over.most[c] > under.least[c] ? base + value * scale : Number.NaN));
  pen.fillStyle = fill;
  fillBetween(pen, { upper: y(over.most), lower: y(under.least) }, PAD.left);
}

/** A scale from one step to the top, in units of its band; `width` and `fontPx` in px. */
export interface Scale {
  readonly band: Band;
  readonly top: number;
  readonly step: number;
  readonly width: number;
  readonly fontPx: number;
  /** No number is drawn below this y, where the cursor has its own. */
  readonly lowest?: number;
}

/** Grid lines of a scale, with their numbers to the left of the figure. */
export function scaleLabels(pen: Pen, scale: Scale, palette: Palette): void {
  const { band, top, step, width, fontPx, lowest = Number.POSITIVE_INFINITY } = scale;
  pen.font = `500 ${fontPx}px "IBM Plex Sans"`;
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  let last = Number.NEGATIVE_INFINITY;
  for (let value = step; value <= top + 1e-9; value += step) {
    const y = Math.round(band.base + value * band.scale);
    pen.fillStyle = palette.rule;
    pen.fillRect(PAD.left, y, width, 1);
    pen.fillStyle = palette.ink2;
    const at = Math.min(y, lowest - fontPx * 0.6);
    // In a low figure not every line has room for its number.
    if (Math.abs(at - last) < fontPx) continue;
    last = at;
    pen.fillText(String(value), PAD.left - 8, at);
  }
}

/** The line on which a scale's name stands, px. */
export interface NameLine {
  readonly y: number;
  /** x of every upright line of the figure. */
  readonly uprights: readonly number[];
  readonly width: number;
  /** As the argument of clearPlace(). */
  readonly free?: (x: number, width: number) => boolean | null;
}

/** The area inside the axes, px. */
export interface Field {
  readonly width: number;
  readonly top: number;
  readonly bottom: number;
}

/**
 * A scale's name (shorter forms follow it), placed where neither a post nor the cursor at the start crosses it; left out where nothing
 * fits.
 */
export function scaleName(pen: Pen, names: readonly string[], { y, uprights, width, free }: NameLine, palette: Palette): void {
  const words = names.map((text) => ({ text, width: pen.measureText(text).width }));
  const place = clearPlace(words, uprights, PAD.left, PAD.left + width, free);
  pen.textAlign = "left";
  if (place !== null) word(pen, place.text, place.x, y, palette);
}

/** A word on a line, separated from it by a halo. */
export function word(pen: Pen, text: string, x: number, y: number, palette: Palette): void {
  pen.lineWidth = 6;
  pen.strokeStyle = palette.sheet;
  pen.lineJoin = "round";
  pen.strokeText(text, x, y);
  pen.fillStyle = palette.ink;
  pen.fillText(text, x, y);
}
