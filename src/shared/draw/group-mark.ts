/** A group's mark on a canvas, the same on every screen and on paper: its place among the book's groups says which. No place, no mark. */
import type { Palette, Pen } from "./pen.ts";

/** By a group's place. Whoever has more groups than these sees the last shape again. */
export const MARK_NAMES = ["ring", "disc", "half disc", "ring with a dot", "square", "solid square", "triangle", "solid triangle"] as const;

/** A group that the book has not met yet gets the next free place. */
export const markOf = (groups: readonly string[], label: string): number =>
  label === "" ? -1 : groups.includes(label) ? groups.indexOf(label) : groups.length;

/** Whether the mark is filled: what belongs to its group is then drawn solid, not hollow. */
export const isSolidMark = (mark: number): boolean => mark === 1 || mark === 5 || mark >= 7;

/** Where a mark stands, px. */
export interface Mark {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

function outline(pen: Pen, mark: number, { x, y, radius }: Mark): void {
  pen.beginPath();
  if (mark < 4) pen.arc(x, y, radius, 0, 2 * Math.PI);
  else if (mark < 6) pen.rect(x - radius * 0.9, y - radius * 0.9, 1.8 * radius, 1.8 * radius);
  else {
    pen.moveTo(x, y - radius);
    pen.lineTo(x + radius, y + radius * 0.8);
    pen.lineTo(x - radius, y + radius * 0.8);
    pen.closePath();
  }
}

export function paintGroupMark(pen: Pen, mark: number, at: Mark, palette: Palette): void {
  if (mark < 0) return;
  const { x, y, radius } = at;
  pen.lineWidth = Math.max(3, radius * 0.4);
  pen.strokeStyle = palette.ink;
  pen.fillStyle = isSolidMark(mark) ? palette.ink : palette.sheet;
  pen.setLineDash([]);
  outline(pen, mark, at);
  pen.fill();
  pen.stroke();
  if (mark !== 2 && mark !== 3) return;
  pen.fillStyle = palette.ink;
  pen.beginPath();
  pen.arc(x, y, mark === 2 ? radius : radius / 3, 0, mark === 2 ? Math.PI : 2 * Math.PI);
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
