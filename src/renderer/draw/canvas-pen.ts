/** The painters' pen on a canvas. Never fails. */
import { fitWords, NARROWEST } from "../../shared/draw/fit-words.ts";
import type { Hatch, Ink, Pen } from "../../shared/draw/pen.ts";

const patterns = new Map<string, CanvasPattern>();

export function patternOf(context: CanvasRenderingContext2D, { colour, bar }: Hatch): CanvasPattern | string {
  const key = `${colour}/${bar}`;
  const known = patterns.get(key);
  if (known !== undefined) return known;
  // A square tile, its side being the horizontal period of a 45 degree bar, repeats without a visible joint.
  const side = Math.round(bar * 2 * Math.SQRT2);
  const tile = document.createElement("canvas");
  tile.width = side;
  tile.height = side;
  const drawn = tile.getContext("2d");
  if (drawn === null) return colour;
  drawn.strokeStyle = colour;
  drawn.lineWidth = side / (2 * Math.SQRT2);
  drawn.beginPath();
  for (const shift of [-side, 0, side]) {
    drawn.moveTo(shift - 1, side + 1);
    drawn.lineTo(shift + side + 1, -1);
  }
  drawn.stroke();
  const pattern = context.createPattern(tile, "repeat");
  if (pattern === null) return colour;
  patterns.set(key, pattern);
  return pattern;
}

/** Passes every call on; a hatch becomes a canvas pattern. */
class CanvasPen implements Pen {
  readonly #context: CanvasRenderingContext2D;
  #fillStyle: Ink = "#000";

  constructor(context: CanvasRenderingContext2D) {
    this.#context = context;
  }

  get fillStyle(): Ink {
    return this.#fillStyle;
  }
  set fillStyle(ink: Ink) {
    this.#fillStyle = ink;
    this.#context.fillStyle = typeof ink === "string" ? ink : patternOf(this.#context, ink);
  }
  get strokeStyle(): string {
    return String(this.#context.strokeStyle);
  }
  set strokeStyle(colour: string) {
    this.#context.strokeStyle = colour;
  }
  get lineWidth(): number {
    return this.#context.lineWidth;
  }
  set lineWidth(width: number) {
    this.#context.lineWidth = width;
  }
  get lineJoin(): Pen["lineJoin"] {
    return this.#context.lineJoin;
  }
  set lineJoin(join: Pen["lineJoin"]) {
    this.#context.lineJoin = join;
  }
  get font(): string {
    return this.#context.font;
  }
  set font(font: string) {
    this.#context.font = font;
  }
  get textAlign(): Pen["textAlign"] {
    return this.#context.textAlign;
  }
  set textAlign(align: Pen["textAlign"]) {
    this.#context.textAlign = align;
  }
  get textBaseline(): Pen["textBaseline"] {
    return this.#context.textBaseline;
  }
  set textBaseline(baseline: Pen["textBaseline"]) {
    this.#context.textBaseline = baseline;
  }
  translate(x: number, y: number): void {
    this.#context.translate(x, y);
  }
  fillRect(x: number, y: number, width: number, height: number): void {
    this.#context.fillRect(x, y, width, height);
  }
  strokeRect(x: number, y: number, width: number, height: number): void {
    this.#context.strokeRect(x, y, width, height);
  }
  beginPath(): void {
    this.#context.beginPath();
  }
  moveTo(x: number, y: number): void {
    this.#context.moveTo(x, y);
  }
  lineTo(x: number, y: number): void {
    this.#context.lineTo(x, y);
  }
  closePath(): void {
    this.#context.closePath();
  }
  arc(x: number, y: number, radius: number, from: number, to: number): void {
    this.#context.arc(x, y, radius, from, to);
  }
  rect(x: number, y: number, width: number, height: number): void {
    this.#context.rect(x, y, width, height);
  }
  fill(): void {
    this.#context.fill();
  }
  stroke(): void {
    this.#context.stroke();
  }
  setLineDash(dash: number[]): void {
    this.#context.setLineDash(dash);
  }
  fillText(text: string, x: number, y: number, most?: number): void {
    const shown = most === undefined ? text : fitWords(text, most / NARROWEST, (part) => this.#context.measureText(part).width);
    this.#context.fillText(shown, x, y, most);
  }
  strokeText(text: string, x: number, y: number): void {
    this.#context.strokeText(text, x, y);
  }
  measureText(text: string): { readonly width: number } {
    return this.#context.measureText(text);
  }
}

export const penOn = (context: CanvasRenderingContext2D): Pen => new CanvasPen(context);
