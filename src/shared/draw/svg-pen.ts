/**
 * The pen that writes SVG: a saved or printed drawing comes from the same painter as the screen's. Never fails; text from outside is
 * escaped.
 */
import { fitWords, NARROWEST } from "./fit-words.ts";
import { html, type Markup } from "../kernel/html.ts";
import type { Ink, Pen, Surface } from "./pen.ts";

const px = (value: number) => String(Math.round(value * 100) / 100);
const ANCHOR: Readonly<Record<string, string>> = { left: "start", start: "start", center: "middle", right: "end", end: "end" };
/** Distance of the alphabetic baseline, em, for each of a canvas's baselines in this typeface. */
const BASELINE_EM: Readonly<Record<string, number>> = {
  alphabetic: 0,
  bottom: -0.275,
  middle: 0.349,
  top: 0.775,
  hanging: 0.775,
  ideographic: -0.275,
};

/** Width of a text in a CSS font, px. */
type TextWidth = (text: string, font: string) => number;

class SvgPen implements Pen {
  fillStyle: Ink = "#000";
  strokeStyle = "#000";
  lineWidth = 1;
  lineJoin: Pen["lineJoin"] = "miter";
  font = "10px sans-serif";
  textAlign: Pen["textAlign"] = "start";
  textBaseline: Pen["textBaseline"] = "alphabetic";
  readonly parts: Markup[] = [];
  readonly patterns = new Map<string, Markup>();
  #path = "";
  #shift = { x: 0, y: 0 };
  #dash: readonly number[] = [];
  readonly #measure: TextWidth;

  constructor(measure: TextWidth) {
    this.#measure = measure;
  }

  #paint(ink: Ink): string {
    if (typeof ink === "string") return ink;
    const hatch = ink;
    const name = `hatch${hatch.bar}-${hatch.colour.replace(/\W/g, "")}`;
    this.patterns.set(
      name,
      html`<pattern id="${name}" width="${px(hatch.bar * 2)}" height="${px(hatch.bar * 2)}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="${px(hatch.bar)}" height="${px(hatch.bar * 2)}" fill="${hatch.colour}"/></pattern>`,
    );
    return `url(#${name})`;
  }

  #stroked(): Markup {
    const dash = this.#dash.length > 0 && html` stroke-dasharray="${this.#dash.join(" ")}"`;
    return html`fill="none" stroke="${this.#paint(this.strokeStyle)}" stroke-width="${px(this.lineWidth)}" stroke-linejoin="${this.lineJoin}"${dash}`;
  }

  /** Moves everything drawn from now on to the right and down. */
  translate(x: number, y: number): void {
    this.#shift = { x: this.#shift.x + x, y: this.#shift.y + y };
  }
  #x(x: number): string {
    return px(x + this.#shift.x);
  }
  #y(y: number): string {
    return px(y + this.#shift.y);
  }
  #rect(x: number, y: number, width: number, height: number, paint: Markup): void {
    // A canvas accepts a negative width and draws the other way; SVG does not.
    const [left, top] = [Math.min(x, x + width), Math.min(y, y + height)];
    this.parts.push(
      html`<rect x="${this.#x(left)}" y="${this.#y(top)}" width="${px(Math.abs(width))}" height="${px(Math.abs(height))}" ${paint}/>`,
    );
  }
  fillRect(x: number, y: number, width: number, height: number): void {
    this.#rect(x, y, width, height, html`fill="${this.#paint(this.fillStyle)}"`);
  }
  strokeRect(x: number, y: number, width: number, height: number): void {
    this.#rect(x, y, width, height, this.#stroked());
  }
  beginPath(): void {
    this.#path = "";
  }
  moveTo(x: number, y: number): void {
    this.#path += `M${this.#x(x)} ${this.#y(y)}`;
  }
  lineTo(x: number, y: number): void {
    this.#path += `${this.#path === "" ? "M" : "L"}${this.#x(x)} ${this.#y(y)}`;
  }
  closePath(): void {
    this.#path += "Z";
  }
  arc(x: number, y: number, radius: number, from: number, to: number): void {
    const r = px(radius);
    if (to - from >= 2 * Math.PI) {
      this.#path += `M${this.#x(x - radius)} ${this.#y(y)}a${r} ${r} 0 1 0 ${px(radius * 2)} 0a${r} ${r} 0 1 0 ${px(-radius * 2)} 0Z`;
      return;
    }
    const at = (angle: number) => `${this.#x(x + radius * Math.cos(angle))} ${this.#y(y + radius * Math.sin(angle))}`;
    this.#path += `${this.#path === "" ? "M" : "L"}${at(from)}A${r} ${r} 0 ${to - from > Math.PI ? 1 : 0} 1 ${at(to)}`;
  }
  rect(x: number, y: number, width: number, height: number): void {
    this.#path += `M${this.#x(x)} ${this.#y(y)}h${px(width)}v${px(height)}h${px(-width)}Z`;
  }
  fill(): void {
    this.parts.push(html`<path d="${this.#path}" fill="${this.#paint(this.fillStyle)}"/>`);
  }
  stroke(): void {
    this.parts.push(html`<path d="${this.#path}" ${this.#stroked()}/>`);
  }
  setLineDash(dash: readonly number[]): void {
    this.#dash = dash;
  }
  measureText(text: string): { readonly width: number } {
    return { width: this.#measure(text, this.font) };
  }

  /** The width that the text has on the screen. A reader without this typeface uses another one, and the drawing must still fit. */
  #length(text: string, most: number): Markup | false {
    const width = Math.min(most, this.measureText(text).width);
    return width > 0 && html` textLength="${px(width)}" lengthAdjust="spacingAndGlyphs"`;
  }

  #text(text: string, x: number, y: number, paint: Markup, most = Number.POSITIVE_INFINITY): void {
    const [, weight = "500", size = "16"] = /^(\d+) ([\d.]+)px/.exec(this.font) ?? [];
    const baseline = y + (BASELINE_EM[this.textBaseline] ?? 0) * Number(size);
    this.parts.push(
      html`<text x="${this.#x(x)}" y="${this.#y(baseline)}"${this.#length(text, most)} font-size="${size}" font-weight="${weight}" text-anchor="${ANCHOR[this.textAlign] ?? "start"}" ${paint}>${text}</text>`,
    );
  }
  fillText(text: string, x: number, y: number, most?: number): void {
    const shown = most === undefined ? text : fitWords(text, most / NARROWEST, (part) => this.measureText(part).width);
    this.#text(shown, x, y, html`fill="${this.#paint(this.fillStyle)}"`, most);
  }
  strokeText(text: string, x: number, y: number): void {
    this.#text(text, x, y, this.#stroked());
  }
}

export interface SvgOptions {
  readonly width: number;
  readonly height: number;
  /** Read to people who cannot see the drawing; empty where the words beside it say everything. */
  readonly title: string;
  readonly textWidth: TextWidth;
}

interface Drawn {
  readonly title: Markup | false;
  readonly body: Markup;
}

function drawn({ width, height, title, textWidth }: SvgOptions, paint: (surface: Surface) => void): Drawn {
  const pen = new SvgPen(textWidth);
  paint({ pen, width, height });
  const defs = pen.patterns.size > 0 && html`<defs>${[...pen.patterns.values()]}</defs>`;
  return { title: title !== "" && html`<title>${title}</title>`, body: html`${defs}${pen.parts}` };
}

/** Paints with `paint` into a whole SVG file with a background of one colour. */
export function svgFile(options: SvgOptions, ground: string, paint: (surface: Surface) => void): string {
  const { width, height } = options;
  const { title, body } = drawn(options, paint);
  return String(
    html`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" font-family="IBM Plex Sans, sans-serif">${title}<rect width="${width}" height="${height}" fill="${ground}"/>${body}</svg>\n`,
  );
}

/** Paints with `paint` into an element of an HTML page, which brings its own background and typeface. */
export function svgElement(options: SvgOptions, paint: (surface: Surface) => void): Markup {
  const { width, height } = options;
  const { title, body } = drawn(options, paint);
  const role = title === false ? html`aria-hidden="true"` : html`role="img"`;
  return html`<svg viewBox="0 0 ${width} ${height}" ${role}>${title}${body}</svg>`;
}
