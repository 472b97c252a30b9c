/**
 * Draws one print: ground line, solid slip above, hatched torque held back below, stitches where the control intervenes.
 * Unknown is dots and no ink; ink beyond the scale is cut flat under a double bar with its number.
 */
import type { Palette, Pen } from "./pen.ts";
import { largest, type SeamColumns, type SeamScales } from "./seam-columns.ts";
import { spans } from "./spans.ts";

interface SeamPlace {
  readonly x: number;
  /** The ground line's middle. */
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

/** The double bar over ink that runs beyond the scale, with the number it reached. */
function cap(pen: Pen, place: SeamPlace, side: Side, palette: Palette, weights: SeamWeights): void {
  for (const [from, to] of spans(side.values.length, (column) => Math.abs(side.values[column] as number) > side.scale)) {
    const top = side.base + side.sign * side.extent;
    pen.fillStyle = palette.ink;
    for (const away of [2, 2 + weights.edge * 2])
      pen.fillRect(place.x + from - 2, top + side.sign * away - weights.edge / 2, to - from + 4, weights.edge);
    if (weights.fontPx === 0) continue;
    pen.font = `500 ${weights.fontPx}px "IBM Plex Sans"`;
    const reached = largest(side.values.subarray(from, to)).toFixed(0);
    const room = (words: string) => pen.measureText(words).width + 16 < to - from;
    const text = [`${reached} ${side.unit}`, reached].find(room) ?? reached;
    const inside = room(text);
    pen.textAlign = inside ? "center" : "left";
    pen.textBaseline = side.sign < 0 ? "top" : "bottom";
    const [x, y] = [place.x + (inside ? (from + to) / 2 : to + 6), top - side.sign * 6];
    // Inside, the ink is parted around the number, so it is read on solid and on hatch alike; outside it stands beside the bar, clear of the posts' names.
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

/** One print: its columns, where it is drawn, on which scales, and how heavy. */
export interface SeamPrint {
  readonly place: SeamPlace;
  readonly columns: SeamColumns;
  readonly scales: SeamScales;
  readonly weights: SeamWeights;
}

function sidesOf({ place, columns, scales, weights }: SeamPrint): { readonly slip: Side; readonly held: Side } {
  const away = weights.ground / 2 + weights.kerf;
  return {
    slip: { values: columns.slipKmh, scale: scales.slipKmh, extent: place.up, sign: -1, base: place.y - away, unit: "km/h" },
    held: { values: columns.heldNm, scale: scales.heldNm, extent: place.down, sign: 1, base: place.y + away, unit: "Nm" },
  };
}

/** Paints slip, torque held back, ground line and stitches for the columns. */
export function paintSeam(pen: Pen, print: SeamPrint, palette: Palette): void {
  const { place, columns, weights } = print;
  const { slip, held } = sidesOf(print);
  // A bare line must look bare: less than half a pixel of slip, or a hatch thinner than its own edge, is no ink.
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
  cap(pen, place, slip, palette, weights);
  cap(pen, place, held, palette, weights);
  paintGround(pen, print, palette);
}

/** The ground line where something is known, dots where nothing is, stitches where the control intervenes. */
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
  // A gap in the data is dots of its own length, whatever line was there before.
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

/** Between a post and its name, px: at arm's length, and at a desk. */
const AWAY = { drive: 16, desk: 8 } as const;

export interface Post {
  readonly x: number;
  readonly name: string;
  /** Stands in where the name has no room. */
  readonly shortName?: string;
  readonly passed: boolean;
}

/** Where posts stand: from `top` to `bottom`, their names between `from` and `to`, px. */
export interface PostsPlace {
  readonly top: number;
  readonly bottom: number;
  readonly from: number;
  readonly to: number;
  readonly fontPx: number;
  /** Read at arm's length. */
  readonly drive: boolean;
}

/** Posts: hollow where a gate is expected, solid where it was passed, with a halo so that black on black still parts. Names on alternating sides never collide. */
export function paintPosts(pen: Pen, posts: readonly Post[], place: PostsPlace, palette: Palette): void {
  const { top, bottom, from, to, fontPx, drive } = place;
  const w = drive ? 5 : 3;
  const away = drive ? AWAY.drive : AWAY.desk;
  pen.font = `500 ${fontPx}px "IBM Plex Sans"`;
  pen.textBaseline = "top";
  let freeFrom = from;
  posts.forEach((post, i) => {
    const left = post.x - (post.passed ? w / 2 : w);
    const width = post.passed ? w : w * 2;
    pen.fillStyle = palette.sheet;
    pen.fillRect(left - 3, top, width + 6, bottom - top);
    pen.fillStyle = palette.ink;
    pen.fillRect(left, top, width, bottom - top);
    if (!post.passed) {
      pen.fillStyle = palette.sheet;
      pen.fillRect(left + 3, top + 3, width - 6, bottom - top - 6);
    }
    pen.fillStyle = palette.ink;
    const nextX = posts[i + 1]?.x ?? to + 8;
    const roomFor = (name: string) => {
      const length = pen.measureText(name).width;
      const left = post.x - away - length > freeFrom;
      return post.x + away + length < nextX - 8 ? { name, length, left: false } : left ? { name, length, left: true } : null;
    };
    const label = roomFor(post.name) ?? (post.shortName === undefined ? null : roomFor(post.shortName));
    freeFrom = post.x;
    if (label === null) return;
    pen.textAlign = label.left ? "right" : "left";
    pen.fillText(label.name, post.x + (label.left ? -away : away), top);
    if (!label.left) freeFrom = post.x + away + label.length;
  });
}
