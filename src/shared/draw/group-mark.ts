/** A group's mark on a canvas: ring, disc, half disc, ring with a dot; further groups a square ring. */
import type { Palette, Pen } from "./pen.ts";

/** Where a mark stands, px. */
export interface Mark {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

export function paintGroupMark(pen: Pen, group: number, { x, y, radius }: Mark, palette: Palette): void {
  pen.lineWidth = Math.max(3, radius * 0.4);
  pen.strokeStyle = palette.ink;
  pen.fillStyle = group === 1 ? palette.ink : palette.sheet;
  pen.setLineDash([]);
  pen.beginPath();
  if (group > 3) pen.rect(x - radius, y - radius, 2 * radius, 2 * radius);
  else pen.arc(x, y, radius, 0, 2 * Math.PI);
  pen.fill();
  pen.stroke();
  if (group !== 2 && group !== 3) return;
  pen.fillStyle = palette.ink;
  pen.beginPath();
  pen.arc(x, y, group === 2 ? radius : radius / 3, 0, group === 2 ? Math.PI : 2 * Math.PI);
  pen.fill();
}

/** The frame of what is selected, and the strike through what was set aside. */
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
