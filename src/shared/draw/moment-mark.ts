/** The mark of a moment that people marked or noted while driving: a diamond on the time line, parted from what it crosses. */
import type { Palette, Pen } from "./pen.ts";

const [INK, HALO] = [6, 9];

export function paintMomentMark(pen: Pen, x: number, y: number, palette: Palette): void {
  for (const [reach, colour] of [
    [HALO, palette.sheet],
    [INK, palette.ink],
  ] as const) {
    pen.fillStyle = colour;
    pen.beginPath();
    pen.moveTo(x, y - reach);
    pen.lineTo(x + reach, y);
    pen.lineTo(x, y + reach);
    pen.lineTo(x - reach, y);
    pen.closePath();
    pen.fill();
  }
}
