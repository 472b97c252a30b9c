/** The figure as a file: the same painters on a picture of its own, with the further line under it. Every sample is in it, by pixel column. */
import { lineColumns, ticks } from "../../draw/line-columns.ts";
import type { Palette, Surface } from "../../draw/palette.ts";
import { largest } from "../../draw/seam-columns.ts";
import { svgOf } from "../../draw/svg-pen.ts";
import { JOIN, PAD, scaleLabels, strokeLine, word } from "./figure-parts.ts";
import type { FurtherLine } from "./further-chart.ts";
import { type FigurePlan, paintFigure } from "./open-seam.ts";

interface Picture {
  readonly plan: FigurePlan;
  readonly further: FurtherLine | null;
  readonly width: number;
  readonly height: number;
  readonly palette: Palette;
}

const FURTHER_PX = 200;
/** Device pixels a px: fine enough for paper. */
const PNG_RATIO = 2;

function paintFurther(context: CanvasRenderingContext2D, { plan, width, height, palette }: Picture, line: FurtherLine): void {
  const { fontPx, unit } = plan;
  const across = Math.max(1, Math.floor(width - PAD.left - PAD.right));
  const columns = lineColumns(line.axis, line.values, { from: line.from, to: line.to, width: across, longestJoin: JOIN[unit] });
  const below = columns.least.some((value) => value < 0);
  const scale = ticks(Math.max(largest(columns.most), largest(columns.least)), 3);
  const [top, bottom] = [height + fontPx * 2, height + FURTHER_PX - fontPx];
  const base = below ? (top + bottom) / 2 : bottom;
  const band = { base, scale: -(base - top) / scale.top };
  scaleLabels(context, band, scale.top, scale.step, across, palette, fontPx);
  context.fillStyle = palette.rule;
  context.fillRect(PAD.left, base, across, 2);
  strokeLine(context, columns, band, palette, false);
  context.font = `700 ${fontPx}px "IBM Plex Sans"`;
  context.textAlign = "left";
  context.textBaseline = "middle";
  word(context, line.unit === "" ? line.name : `${line.name}, ${line.unit}`, PAD.left + 8, height + fontPx, palette);
}

function paint(picture: Picture, surface: Surface): void {
  paintFigure({ ...surface, height: picture.height }, picture.plan, picture.palette);
  if (picture.further !== null) paintFurther(surface.context, picture, picture.further);
}

const heightOf = ({ height, further }: Picture) => height + (further === null ? 0 : FURTHER_PX);

export function figureSvg(picture: Picture, title: string): Blob {
  const text = svgOf(picture.width, heightOf(picture), title, picture.palette.sheet, (surface) => paint(picture, surface));
  return new Blob([text], { type: "image/svg+xml" });
}

/** Gives the PNG when the browser has made it. */
export function figurePng(picture: Picture, done: (png: Blob) => void): void {
  const canvas = document.createElement("canvas");
  const [width, height] = [picture.width, heightOf(picture)];
  canvas.width = width * PNG_RATIO;
  canvas.height = height * PNG_RATIO;
  const context = canvas.getContext("2d");
  if (context === null) throw new TypeError("Saving the figure: this browser gives no canvas to draw on");
  context.scale(PNG_RATIO, PNG_RATIO);
  context.fillStyle = picture.palette.sheet;
  context.fillRect(0, 0, width, height);
  paint(picture, { context, width, height });
  canvas.toBlob((png) => {
    if (png === null) throw new TypeError("Saving the figure: this browser gave no PNG");
    done(png);
  });
}
