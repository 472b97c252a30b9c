/** A group's mark on a canvas: ring, disc, half disc, ring with a dot; further groups a square ring. */
import type { Palette } from "./palette.ts";

export function paintGroupMark(
  context: CanvasRenderingContext2D,
  group: number,
  x: number,
  y: number,
  radius: number,
  palette: Palette,
): void {
  context.lineWidth = Math.max(3, radius * 0.4);
  context.strokeStyle = palette.ink;
  context.fillStyle = group === 1 ? palette.ink : palette.sheet;
  context.setLineDash([]);
  context.beginPath();
  if (group > 3) context.rect(x - radius, y - radius, 2 * radius, 2 * radius);
  else context.arc(x, y, radius, 0, 2 * Math.PI);
  context.fill();
  context.stroke();
  if (group !== 2 && group !== 3) return;
  context.fillStyle = palette.ink;
  context.beginPath();
  context.arc(x, y, group === 2 ? radius : radius / 3, 0, group === 2 ? Math.PI : 2 * Math.PI);
  context.fill();
}

/** The frame of what is selected, and the strike through what was set aside. */
export function paintMarkState(
  context: CanvasRenderingContext2D,
  x: number,
  y: number,
  radius: number,
  state: { readonly selected: boolean; readonly aside: boolean },
  palette: Palette,
): void {
  context.strokeStyle = palette.ink;
  if (state.aside) {
    context.lineWidth = 2;
    context.beginPath();
    context.moveTo(x - 2 * radius, y + radius);
    context.lineTo(x + 2 * radius, y - radius);
    context.stroke();
  }
  if (state.selected) {
    context.lineWidth = 4;
    context.strokeRect(x - radius - 7, y - radius - 7, 2 * radius + 14, 2 * radius + 14);
  }
}
