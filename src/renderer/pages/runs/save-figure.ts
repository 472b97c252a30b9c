/**
 * The figure as a file: the same painters on a picture of its own, with the further line below. It contains every sample, by pixel column.
 */
import { lineColumns, ticks } from "../../../shared/draw/line-columns.ts";
import type { Picture } from "../../draw/chart-file.ts";
import type { Palette, Pen } from "../../../shared/draw/pen.ts";
import { largest } from "../../../shared/draw/seam-columns.ts";
import { JOIN, PAD, scaleLabels, paintLine, word } from "./figure-parts.ts";
import type { FurtherLine } from "./further-chart.ts";
import { type FigurePlan, paintFigure } from "./open-seam.ts";

interface FigureNow {
  readonly plan: FigurePlan;
  readonly further: FurtherLine | null;
  readonly width: number;
  readonly height: number;
}

const FURTHER_PX = 200;

function paintFurther(pen: Pen, { plan, width, height }: FigureNow, line: FurtherLine, palette: Palette): void {
  const { fontPx, unit } = plan;
  const across = Math.max(1, Math.floor(width - PAD.left - PAD.right));
  const columns = lineColumns(line.axis, line.values, { from: line.from, to: line.to, width: across, longestJoin: JOIN[unit] });
  const below = columns.least.some((value) => value < 0);
  const scale = ticks(Math.max(largest(columns.most), largest(columns.least)), 3);
  const [top, bottom] = [height + fontPx * 2, height + FURTHER_PX - fontPx];
  const base = below ? (top + bottom) / 2 : bottom;
  const band = { base, scale: -(base - top) / scale.top };
  scaleLabels(pen, { band, ...scale, width: across, fontPx }, palette);
  pen.fillStyle = palette.rule;
  pen.fillRect(PAD.left, base, across, 2);
  paintLine(pen, columns, band, palette, false);
  pen.font = `700 ${fontPx}px "IBM Plex Sans"`;
  pen.textAlign = "left";
  pen.textBaseline = "middle";
  word(pen, line.unit === "" ? line.name : `${line.name}, ${line.unit}`, PAD.left + 8, height + fontPx, palette);
}

const heightOf = ({ height, further }: FigureNow) => height + (further === null ? 0 : FURTHER_PX);

/** The figure as a picture for saving. */
export function figurePicture(now: FigureNow): Picture {
  return {
    width: now.width,
    height: heightOf(now),
    paint(surface, palette) {
      paintFigure({ ...surface, height: now.height }, now.plan, palette);
      if (now.further !== null) paintFurther(surface.pen, now, now.further, palette);
    },
  };
}
