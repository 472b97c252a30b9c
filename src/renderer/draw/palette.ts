/** The scheme's colours for canvases, read from the page's CSS variables, and canvases sized to device pixels. */
import type { Palette, Surface } from "../../shared/draw/pen.ts";
import { penOn } from "./canvas-pen.ts";

export function readPalette(): Palette {
  const style = getComputedStyle(document.documentElement);
  const token = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    sheet: token("sheet"),
    panel: token("panel"),
    ink: token("ink"),
    ink2: token("ink-2"),
    rule: token("rule"),
    slip: token("slip"),
    held: token("held"),
    sun: document.documentElement.dataset.scheme === "sun",
  };
}

/** Size in CSS px of a font variable ("--drive-text"), read from an element. */
export const fontPx = (element: Element) => Number.parseFloat(getComputedStyle(element).fontSize);

/** Clears a canvas and fits it to its box in device pixels; null while the box has no size. */
export function surface(canvas: HTMLCanvasElement): Surface | null {
  const width = Math.round(canvas.clientWidth);
  const height = Math.round(canvas.clientHeight);
  const context = canvas.getContext("2d");
  if (width === 0 || height === 0 || context === null) return null;
  const ratio = window.devicePixelRatio;
  const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)];
  if (canvas.width !== w || canvas.height !== h) {
    canvas.width = w;
    canvas.height = h;
  }
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, width, height);
  return { pen: penOn(context), width, height };
}
