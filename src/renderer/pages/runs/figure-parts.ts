/** What the run figures share: lines in pixel columns, grid, words with a halo. Unknown columns break a line. */
import { clearPlace } from "../../../shared/draw/clear-places.ts";
import type { LineColumns } from "../../../shared/draw/line-columns.ts";
import type { Ink, Palette, Pen } from "../../../shared/draw/pen.ts";
import { type Edges, fillBetween, thickened } from "../../../shared/draw/spans.ts";

/** Room left of the figure for numbers, and right of it, px. */
export const PAD = { left: 64, right: 8 } as const;

/** Samples further apart than this are not joined: seconds, metres. */
export const JOIN = { s: 0.3, m: 10 } as const;

/** Where a scale stands in the figure. */
export interface Band {
  readonly base: number;
  /** px per unit; negative rises. */
  readonly scale: number;
}

/** Where a line's columns stand in a band. */
function edgesOf({ least, most }: LineColumns, { base, scale }: Band): Edges {
  const y = (column: Float32Array) => column.map((value) => base + value * scale);
  return scale < 0 ? { upper: y(most), lower: y(least) } : { upper: y(least), lower: y(most) };
}

/** A solid line (measured) or a hollow one (asked, compared with). */
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

/** Fills between two lines wherever the first exceeds the second: ink only where both are known. */
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
  /** No number stands below this y, where the cursor has its own. */
  readonly lowest?: number;
}

/** Grid lines of a scale, with their numbers left of the figure. */
export function scaleLabels(pen: Pen, scale: Scale, palette: Palette): void {
  const { band, top, step, width, fontPx, lowest = Number.POSITIVE_INFINITY } = scale;
  pen.font = `500 ${fontPx}px "IBM Plex Sans"`;
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  for (let value = step; value <= top + 1e-9; value += step) {
    const y = Math.round(band.base + value * band.scale);
    pen.fillStyle = palette.rule;
    pen.fillRect(PAD.left, y, width, 1);
    pen.fillStyle = palette.ink2;
    pen.fillText(String(value), PAD.left - 8, Math.min(y, lowest - fontPx * 0.6));
  }
}

/** The line that a scale's name stands on, px. */
export interface NameLine {
  readonly y: number;
  /** x of every upright line of the figure. */
  readonly uprights: readonly number[];
  readonly width: number;
  /** As clearPlace() asks it. */
  readonly free?: (x: number, width: number) => boolean | null;
}

/** What lies inside the axes, px. */
export interface Field {
  readonly width: number;
  readonly top: number;
  readonly bottom: number;
}

/** A scale's name, its shorter forms after it, where neither a post nor the cursor at the start crosses it; left out where nothing fits. */
export function scaleName(pen: Pen, names: readonly string[], { y, uprights, width, free }: NameLine, palette: Palette): void {
  const words = names.map((text) => ({ text, width: pen.measureText(text).width }));
  const place = clearPlace(words, uprights, PAD.left, PAD.left + width, free);
  pen.textAlign = "left";
  if (place !== null) word(pen, place.text, place.x, y, palette);
}

/** A word on a line, parted from it by a halo. */
export function word(pen: Pen, text: string, x: number, y: number, palette: Palette): void {
  pen.lineWidth = 6;
  pen.strokeStyle = palette.sheet;
  pen.lineJoin = "round";
  pen.strokeText(text, x, y);
  pen.fillStyle = palette.ink;
  pen.fillText(text, x, y);
}
