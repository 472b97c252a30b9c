/**
 * A pair of present values: a rod up to the solid edge (got), the gap with its ink, the hollow edge (put in). If one edge is unknown, only
 * the other is drawn; if both are, dots.
 */
import type { Palette, Surface } from "../../shared/draw/pen.ts";

/** Widths of the solid and of the hollow edge, px. */
const EDGE = 10;
const HOLLOW = 14;

export interface Pair {
  /** Ground speed, or torque delivered; null unknown. */
  readonly got: number | null;
  /** Wheel speed, or torque asked; null unknown. */
  readonly putIn: number | null;
  readonly scale: number;
  readonly gap: "slip" | "held";
}

export function paintPair({ pen, width, height }: Surface, pair: Pair, palette: Palette): void {
  const middle = height / 2;
  // Each edge ends at its value, so the gap between them is to scale, however small.
  const at = (value: number) => EDGE + Math.max(0, Math.min(1, value / pair.scale)) * (width - EDGE - HOLLOW - 2);
  const line = palette.sun ? 6 : 4;
  pen.fillStyle = palette.rule;
  if (pair.got === null && pair.putIn === null) {
    for (let x = 0; x < width; x += 9) pen.fillRect(x, middle - 2, 4, 4);
    return;
  }
  pen.fillRect(0, middle - line / 2, width, line);
  const got = pair.got === null ? null : at(pair.got);
  const putIn = pair.putIn === null ? null : at(pair.putIn);
  if (got !== null && putIn !== null) {
    const [from, to] = [Math.min(got, putIn) + 3, Math.max(got, putIn) - 3];
    if (to > from) {
      pen.fillStyle = palette.sheet;
      pen.fillRect(from - 3, 2, to - from + 6, height - 4);
      pen.fillStyle = pair.gap === "slip" ? palette.slip : { colour: palette.held, bar: 6 };
      // Wheel slower than ground: only the outline, as in the seam.
      if (pair.gap === "slip" && putIn < got) {
        pen.strokeStyle = palette.slip;
        pen.lineWidth = 3;
        pen.setLineDash([3, 6]);
        pen.strokeRect(from + 2, 5, to - from - 4, height - 10);
        pen.setLineDash([]);
      } else if (!(pair.gap === "held" && putIn < got)) pen.fillRect(from, 3, to - from, height - 6);
    }
  }
  if (got !== null) {
    pen.fillStyle = palette.ink;
    pen.fillRect(0, middle - 7, got, 14);
    pen.fillRect(got - EDGE, 2, EDGE, height - 4);
  }
  if (putIn !== null) {
    pen.fillStyle = palette.sheet;
    pen.fillRect(putIn, 0, HOLLOW + 3, height);
    pen.fillStyle = palette.ink;
    pen.fillRect(putIn, 2, HOLLOW, height - 4);
    pen.fillStyle = palette.sheet;
    pen.fillRect(putIn + 4, 6, HOLLOW - 8, height - 12);
  }
}
