/** A group's mark on a canvas, the same on every screen and on paper: its place among the book's groups says which. No place, no mark. */
import type { Palette, Pen } from "./pen.ts";

/** By a group's place. Whoever has more groups than these sees the last shape again. */
export const MARK_NAMES = [
  "ring",
  "disc",
  "half disc",
  "ring with a dot",
  "square",
  "solid square",
  "triangle",
  "solid triangle",
  "half square",
  "square with a dot",
  "triangle on its point",
  "solid triangle on its point",
  "half triangle",
  "triangle with a dot",
  "half triangle on its point",
  "triangle on its point with a dot",
] as const;

type Outline = "circle" | "square" | "triangle" | "on its point";

const OUTLINES: readonly Exclude<Outline, "circle">[] = ["on its point", "triangle", "square"];
const nameOf = (mark: number) => MARK_NAMES[Math.min(mark, MARK_NAMES.length - 1)] ?? "ring";
const outlineOf = (name: string): Outline => OUTLINES.find((part) => name.includes(part)) ?? "circle";

/** A group that the book has not met yet gets the next free place. */
export const markOf = (groups: readonly string[], label: string): number =>
  label === "" ? -1 : groups.includes(label) ? groups.indexOf(label) : groups.length;

/** Whether the mark is filled: what belongs to its group is then drawn solid, not hollow. */
export const isSolidMark = (mark: number): boolean => /^(?:disc|solid)/.test(nameOf(mark));

/** Where a mark stands, px. */
export interface Mark {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

type Corners = readonly (readonly [number, number])[];

/** In shares of the radius, y downwards. */
const CORNERS: Readonly<Record<Exclude<Outline, "circle">, Corners>> = {
  square: [
    [-0.9, -0.9],
    [0.9, -0.9],
    [0.9, 0.9],
    [-0.9, 0.9],
  ],
  triangle: [
    [0, -1],
    [1, 0.8],
    [-1, 0.8],
  ],
  "on its point": [
    [0, 1],
    [1, -0.8],
    [-1, -0.8],
  ],
};

/** What of it lies below the middle. */
const lowerHalf = (corners: Corners): Corners =>
  corners.flatMap(([x, y], i) => {
    const [toX, toY] = corners[(i + 1) % corners.length] as readonly [number, number];
    const own = y >= 0 ? [[x, y] as const] : [];
    return y < 0 === toY < 0 ? own : [...own, [x + (toX - x) * (y / (y - toY)), 0] as const];
  });

function path(pen: Pen, corners: Corners, { x, y, radius }: Mark): void {
  pen.beginPath();
  corners.forEach(([right, down], i) => {
    if (i === 0) pen.moveTo(x + right * radius, y + down * radius);
    else pen.lineTo(x + right * radius, y + down * radius);
  });
  pen.closePath();
}

function circle(pen: Pen, { x, y, radius }: Mark, share = 1, endRad = 2 * Math.PI): void {
  pen.beginPath();
  pen.arc(x, y, share * radius, 0, endRad);
}

export function paintGroupMark(pen: Pen, mark: number, at: Mark, palette: Palette): void {
  if (mark < 0) return;
  const name = nameOf(mark);
  const shape = outlineOf(name);
  pen.lineWidth = Math.max(3, at.radius * 0.4);
  pen.strokeStyle = palette.ink;
  pen.fillStyle = isSolidMark(mark) ? palette.ink : palette.sheet;
  pen.setLineDash([]);
  if (shape === "circle") circle(pen, at);
  else path(pen, CORNERS[shape], at);
  pen.fill();
  pen.stroke();
  const hasDot = name.endsWith("dot");
  if (!hasDot && !name.startsWith("half")) return;
  pen.fillStyle = palette.ink;
  if (hasDot) circle(pen, at, 1 / 3);
  else if (shape === "circle") circle(pen, at, 1, Math.PI);
  else path(pen, lowerHalf(CORNERS[shape]), at);
  pen.fill();
}

/** The frame around a selected mark, and the line through a run that was set aside. */
export function paintMarkState(
  pen: Pen,
  { x, y, radius }: Mark,
  state: { readonly selected: boolean; readonly aside: boolean },
  palette: Palette,
): void {
  pen.strokeStyle = palette.ink;
  if (state.aside) {
    pen.lineWidth = 2;
    pen.beginPath();
    pen.moveTo(x - 2 * radius, y + radius);
    pen.lineTo(x + 2 * radius, y - radius);
    pen.stroke();
  }
  if (state.selected) {
    pen.lineWidth = 4;
    pen.strokeRect(x - radius - 7, y - radius - 7, 2 * radius + 14, 2 * radius + 14);
  }
}
