/** Inks of lost time for Chart.js: solid spin, hatched held back, hollow asked too late, dotted no cause of its own. Never fails. */
import type { ChartDataset } from "chart.js";
import { assertNever } from "../../shared/kernel/assert-never.ts";
import type { LossCause } from "../../shared/tune/losses.ts";
import { patternOf } from "../draw/canvas-pen.ts";
import type { ChartPaint } from "./house-chart.ts";

const DOT_TILE_PX = 9;

/** Dots of 3 px, 9 px apart. Where a canvas makes no pattern, the plain colour. */
function dots(context: CanvasRenderingContext2D, colour: string): CanvasPattern | string {
  const tile = document.createElement("canvas");
  tile.width = DOT_TILE_PX;
  tile.height = DOT_TILE_PX;
  const pen = tile.getContext("2d");
  if (pen === null) return colour;
  pen.fillStyle = colour;
  pen.fillRect(3, 3, 3, 3);
  return context.createPattern(tile, "repeat") ?? colour;
}

export function inkOf(cause: LossCause, { palette, context }: ChartPaint): Partial<ChartDataset<"bar">> {
  switch (cause) {
    case "spin":
      return { backgroundColor: palette.slip, borderWidth: 0 };
    case "heldBack":
      return { backgroundColor: patternOf(context, { colour: palette.held, bar: 4 }), borderColor: palette.held, borderWidth: 3 };
    case "askedLate":
      return { backgroundColor: palette.sheet, borderColor: palette.ink, borderWidth: 3 };
    case "rest":
      return { backgroundColor: dots(context, palette.ink2), borderColor: palette.rule, borderWidth: 1 };
    default:
      return assertNever(cause);
  }
}
