/**
 * A chart as a file: the same painters as on the screen draw a picture with its title. A browser that gives no canvas or no PNG throws an
 * error that says so.
 */
import type { Palette, Surface } from "../../shared/draw/pen.ts";
import { penOn } from "./canvas-pen.ts";
import { readPalette } from "./palette.ts";
import { svgFile } from "../../shared/draw/svg-pen.ts";

export interface Picture {
  readonly width: number;
  readonly height: number;
  paint(surface: Surface, palette: Palette): void;
}

/** Device pixels a px: fine enough for paper. */
const PNG_RATIO = 2;
const TITLE_PX = 22;
const LINE_PX = 30;
const MARGIN = 16;

function measuringCanvas(): CanvasRenderingContext2D {
  const measure = document.createElement("canvas").getContext("2d");
  if (measure === null) throw new TypeError("Saving the chart: this browser gives no canvas to draw on");
  return measure;
}

function linesOf(context: CanvasRenderingContext2D, title: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of title.split(" ")) {
    const longer = lines.length === 0 ? word : `${lines.at(-1)} ${word}`;
    if (lines.length > 0 && context.measureText(longer).width <= width) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

/** The picture with its title above it and a margin round it. */
function titled(picture: Picture, title: string): Picture {
  const measure = measuringCanvas();
  const font = `700 ${TITLE_PX}px "IBM Plex Sans"`;
  measure.font = font;
  const lines = linesOf(measure, title, picture.width);
  const above = lines.length * LINE_PX + MARGIN;
  return {
    width: picture.width + 2 * MARGIN,
    height: picture.height + above + 2 * MARGIN,
    paint(surface, palette) {
      const { pen } = surface;
      pen.font = font;
      pen.textAlign = "left";
      pen.textBaseline = "middle";
      pen.fillStyle = palette.ink;
      for (const [i, line] of lines.entries()) pen.fillText(line, MARGIN, MARGIN + (i + 0.5) * LINE_PX);
      pen.translate(MARGIN, MARGIN + above);
      picture.paint({ pen, width: picture.width, height: picture.height }, palette);
    },
  };
}

export function chartSvg(picture: Picture, title: string): Blob {
  const { width, height, paint } = titled(picture, title);
  const palette = readPalette();
  const measure = measuringCanvas();
  const textWidth = (text: string, font: string) => {
    measure.font = font;
    return measure.measureText(text).width;
  };
  const svg = svgFile({ width, height, title, textWidth }, palette.sheet, (surface) => paint(surface, palette));
  return new Blob([svg], { type: "image/svg+xml" });
}

export function chartPng(picture: Picture, title: string): Promise<Blob> {
  const { width, height, paint } = titled(picture, title);
  const palette = readPalette();
  const canvas = document.createElement("canvas");
  canvas.width = width * PNG_RATIO;
  canvas.height = height * PNG_RATIO;
  const context = canvas.getContext("2d");
  if (context === null) throw new TypeError("Saving the chart: this browser gives no canvas to draw on");
  context.scale(PNG_RATIO, PNG_RATIO);
  context.fillStyle = palette.sheet;
  context.fillRect(0, 0, width, height);
  paint({ pen: penOn(context), width, height }, palette);
  return new Promise((resolve, reject) =>
    canvas.toBlob((png) => (png === null ? reject(new TypeError("Saving the chart: this browser gave no PNG")) : resolve(png))),
  );
}
