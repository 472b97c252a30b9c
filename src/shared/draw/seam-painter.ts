/**
 * Paints one print: ground line, solid slip above, hatched torque held back below, short marks where the control intervenes. Unknown is
 * dots without ink. Ink beyond the scale is cut flat, under a double bar with the value it reached.
 */
import type { Palette, Pen } from "./pen.ts";
import { largest, type SeamColumns, type SeamScales } from "./seam-columns.ts";
import { numberPlace, type Span } from "./peak-numbers.ts";
import { type NamedPost, type PlacedName, placeNames } from "./post-names.ts";
import { spans } from "./spans.ts";

interface SeamPlace {
  readonly x: number;
  /** Height of the ground line's middle. */
  readonly y: number;
  readonly width: number;
  readonly up: number;
  readonly down: number;
}

export interface SeamWeights {
  readonly ground: number;
  readonly hatchBar: number;
  readonly edge: number;
  readonly kerf: number;
  readonly fontPx: number;
}

export const DRIVE_WEIGHTS: SeamWeights = { ground: 10, hatchBar: 6, edge: 3, kerf: 3, fontPx: 40 };
export const DESK_WEIGHTS: SeamWeights = { ground: 6, hatchBar: 4, edge: 2, kerf: 3, fontPx: 20 };
export const TILE_WEIGHTS: SeamWeights = { ground: 3, hatchBar: 2, edge: 1, kerf: 1, fontPx: 0 };

interface Side {
  readonly values: Float32Array;
  readonly scale: number;
  readonly extent: number;
  /** -1 draws upwards, 1 downwards. */
  readonly sign: -1 | 1;
  readonly base: number;
  /** Multiply a value by this to say it in the unit. */
  readonly per: number;
  readonly unit: string;
}

function outline(pen: Pen, place: SeamPlace, side: Side, from: number, to: number): void {
  const height = (column: number) => (Math.min(Math.abs(side.values[column] as number), side.scale) / side.scale) * side.extent;
  for (let column = from; column < to; column += 1) pen.lineTo(place.x + column + 0.5, side.base + side.sign * height(column));
}

function area(pen: Pen, place: SeamPlace, side: Side, from: number, to: number): void {
  pen.beginPath();
  pen.moveTo(place.x + from, side.base);
  outline(pen, place, side, from, to);
  pen.lineTo(place.x + to, side.base);
  pen.closePath();
}

/** Sizes that a number is tried in, as shares of the text's. */
const SMALLER = [1, 0.8, 0.65] as const;

/** Sets the pen to the largest of these sizes in which the number has a place; the smallest where it has none. */
function fitNumber(pen: Pen, text: string, fontPx: number, placeOf: (width: number) => number | null): { readonly x: number } | null {
  for (const share of SMALLER) {
    pen.font = `500 ${fontPx * share}px "IBM Plex Sans"`;
    const x = placeOf(pen.measureText(text).width);
    if (x !== null) return { x };
  }
  return null;
}

/** The double bar over ink that exceeds the scale, with the value it reached. `taken`: where no number may be; each number is added to it. */
function cap(pen: Pen, place: SeamPlace, side: Side, palette: Palette, { weights, taken }: { weights: SeamWeights; taken: Span[] }): void {
  const axis: Span = [place.x, place.x + place.width];
  for (const [from, to] of spans(side.values.length, (column) => Math.abs(side.values[column] as number) > side.scale)) {
    const top = side.base + side.sign * side.extent;
    pen.fillStyle = palette.ink;
    for (const away of [2, 2 + weights.edge * 2])
      pen.fillRect(place.x + from - 2, top + side.sign * away - weights.edge / 2, to - from + 4, weights.edge);
    if (weights.fontPx === 0) continue;
    const text = `${(largest(side.values.subarray(from, to)) * side.per).toFixed(0)} ${side.unit}`;
    // A number as high as its side would lie over the ground line.
    const px = Math.min(weights.fontPx, Math.max(8, side.extent - 8));
    const found = fitNumber(pen, text, px, (width) => numberPlace([place.x + from, place.x + to], width, axis, taken));
    // Where it finds no place at any size it stands at the axis's end, over whatever is there.
    const x = found?.x ?? axis[1] - pen.measureText(text).width;
    taken.push([x, x + pen.measureText(text).width]);
    const y = top - side.sign * 6;
    pen.textAlign = "left";
    pen.textBaseline = side.sign < 0 ? "top" : "bottom";
    // The ink is parted around the number, so it is read on solid and on hatch alike.
    pen.lineWidth = 8;
    pen.lineJoin = "round";
    pen.strokeStyle = palette.sheet;
    pen.strokeText(text, x, y);
    pen.fillStyle = palette.ink;
    pen.fillText(text, x, y);
  }
}

function dots(pen: Pen, fromX: number, toX: number, y: number, colour: string): void {
  pen.fillStyle = colour;
  for (let x = fromX; x < toX; x += 9) pen.fillRect(x, y - 1.5, 3, 3);
}

/** One print: its columns, its place, its scales, and how heavy its lines are. */
export interface SeamPrint {
  readonly place: SeamPlace;
  readonly columns: SeamColumns;
  readonly scales: SeamScales;
  readonly weights: SeamWeights;
  /** Where something else stands on the axis: posts, and the pen. */
  readonly taken?: readonly Span[];
}

function sidesOf({ place, columns, scales, weights }: SeamPrint): { readonly slip: Side; readonly held: Side } {
  const away = weights.ground / 2 + weights.kerf;
  const { speed, perKmh } = scales.units;
  return {
    slip: { values: columns.slipKmh, scale: scales.slipKmh, extent: place.up, sign: -1, base: place.y - away, per: perKmh, unit: speed },
    held: { values: columns.heldNm, scale: scales.heldNm, extent: place.down, sign: 1, base: place.y + away, per: 1, unit: "Nm" },
  };
}

/** Paints slip, torque held back, ground line and intervention marks for the columns. */
export function paintSeam(pen: Pen, print: SeamPrint, palette: Palette): void {
  const { place, columns, weights } = print;
  const { slip, held } = sidesOf(print);
  // A line without slip must look empty: less than half a pixel of slip, or a hatch thinner than its own edge, is left out.
  const seen = (side: Side, column: number) =>
    (Math.abs(side.values[column] as number) / side.scale) * side.extent >= (side === held ? Math.max(1, weights.edge * 0.7) : 0.5);

  pen.fillStyle = palette.slip;
  for (const [from, to] of spans(columns.slipKmh.length, (c) => columns.slipKmh[c] > 0 && seen(slip, c))) {
    area(pen, place, slip, from, to);
    pen.fill();
  }
  pen.strokeStyle = palette.slip;
  pen.lineWidth = weights.edge;
  pen.setLineDash([3, 6]);
  for (const [from, to] of spans(columns.slipKmh.length, (c) => columns.slipKmh[c] < 0 && seen(slip, c))) {
    pen.beginPath();
    outline(pen, place, slip, from, to);
    pen.stroke();
    if (weights.fontPx > 0 && to - from > weights.fontPx * 2) {
      pen.fillStyle = palette.ink;
      pen.font = `500 ${weights.fontPx}px "IBM Plex Sans"`;
      pen.textAlign = "left";
      pen.textBaseline = "bottom";
      pen.fillText("behind", place.x + from, slip.base - slip.extent * 0.5);
    }
  }
  pen.setLineDash([]);
  pen.strokeStyle = palette.held;
  for (const [from, to] of spans(columns.heldNm.length, (c) => columns.heldNm[c] > 0 && seen(held, c))) {
    area(pen, place, held, from, to);
    pen.fillStyle = { colour: palette.held, bar: weights.hatchBar };
    pen.fill();
    pen.beginPath();
    pen.moveTo(place.x + from, held.base);
    outline(pen, place, held, from, to);
    pen.lineTo(place.x + to, held.base);
    pen.stroke();
  }
  for (const side of [slip, held]) cap(pen, place, side, palette, { weights, taken: [...(print.taken ?? [])] });
  paintGround(pen, print, palette);
}

/** The ground line where something is known, dots where nothing is, short marks where the control intervenes. */
function paintGround(pen: Pen, { place, columns, weights }: SeamPrint, palette: Palette): void {
  const half = weights.ground / 2;
  for (const [from, to] of spans(columns.covered.length, (c) => columns.covered[c] === 1)) {
    for (const [a, b] of spans(to - from, (c) => !Number.isNaN(columns.slipKmh[from + c] as number))) {
      pen.fillStyle = palette.ink;
      pen.fillRect(place.x + from + a, place.y - half, b - a, weights.ground);
    }
    for (const [a, b] of spans(to - from, (c) => Number.isNaN(columns.slipKmh[from + c] as number)))
      dots(pen, place.x + from + a, place.x + from + b, place.y, palette.ink);
  }
  // A gap in the data is drawn as dots as long as the gap, over any line there.
  const [first, last] = [columns.covered.indexOf(1), columns.covered.lastIndexOf(1)];
  for (const [from, to] of spans(columns.covered.length, (c) => c > first && c < last && columns.covered[c] === 0)) {
    pen.fillStyle = palette.sheet;
    pen.fillRect(place.x + from, place.y - half, to - from, weights.ground);
    dots(pen, place.x + from, place.x + to, place.y, palette.ink);
  }
  const stitch = Math.max(2, weights.ground * 0.8);
  pen.fillStyle = palette.sheet;
  for (const [from, to] of spans(columns.intervening.length, (c) => columns.intervening[c] === 1)) {
    for (let x = from + stitch; x < to; x += stitch * 2)
      pen.fillRect(place.x + x, place.y - half * 0.6, Math.min(stitch, to - x), half * 1.2);
  }
}

/** Distance between a post and its name, px: for reading at arm's length, and at a desk. */
const AWAY = { drive: 16, desk: 8 } as const;
/** A line of names, in sizes of its letters. */
export const NAME_LINE = 1.15;

export interface Post extends NamedPost {
  readonly passed: boolean;
}

/** Where posts stand: from `top` to `bottom`, their names between `from` and `to`, px. */
export interface PostsPlace {
  readonly top: number;
  readonly bottom: number;
  readonly from: number;
  readonly to: number;
  readonly fontPx: number;
  /** Lines that names may stand in. */
  readonly lines: number;
  /** True for reading at arm's length; then no name is left out. */
  readonly drive: boolean;
}

/** The names as paintPosts() puts them. */
export function namesOf(pen: Pen, posts: readonly Post[], { from, to, fontPx, lines, drive }: PostsPlace): (PlacedName | null)[] {
  pen.font = `500 ${fontPx}px "IBM Plex Sans"`;
  const place = { from, to, away: drive ? AWAY.drive : AWAY.desk, lines, all: drive };
  return placeNames(posts, place, (text) => pen.measureText(text).width);
}

/** How many lines the names take. */
export const linesTaken = (names: readonly (PlacedName | null)[]) =>
  Math.max(0, ...names.map((name) => (name === null ? 0 : name.line + name.words.length)));

/** Posts: hollow where a gate is expected, solid where it was passed, with a halo so that black on black still parts. */
export function paintPosts(pen: Pen, posts: readonly Post[], place: PostsPlace, palette: Palette): void {
  const { top, bottom, fontPx, drive } = place;
  const w = drive ? 5 : 3;
  for (const post of posts) {
    const left = post.x - (post.passed ? w / 2 : w);
    const width = post.passed ? w : w * 2;
    pen.fillStyle = palette.sheet;
    pen.fillRect(left - 3, top, width + 6, bottom - top);
    pen.fillStyle = palette.ink;
    pen.fillRect(left, top, width, bottom - top);
    if (post.passed) continue;
    pen.fillStyle = palette.sheet;
    pen.fillRect(left + 3, top + 3, width - 6, bottom - top - 6);
  }
  const names = namesOf(pen, posts, place);
  pen.textBaseline = "top";
  pen.lineWidth = 8;
  pen.lineJoin = "round";
  pen.strokeStyle = palette.sheet;
  for (const name of names) {
    if (name === null) continue;
    pen.textAlign = name.left ? "right" : "left";
    name.words.forEach((word, i) => {
      const y = top + (name.line + i) * fontPx * NAME_LINE;
      pen.fillStyle = palette.ink;
      if (name.line + i > 0 || drive) pen.strokeText(word, name.x, y);
      pen.fillText(word, name.x, y);
    });
  }
}
