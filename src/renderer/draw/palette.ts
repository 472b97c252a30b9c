/** The scheme's colours for canvases, read from the page's own tokens, and a canvas sized to device pixels. */

export interface Palette {
  readonly sheet: string;
  readonly panel: string;
  readonly ink: string;
  readonly ink2: string;
  readonly rule: string;
  readonly slip: string;
  readonly held: string;
  readonly sun: boolean;
}

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

/** CSS px size of a computed font token ("--drive-text"), read off an element. */
export const fontPx = (element: Element) => Number.parseFloat(getComputedStyle(element).fontSize);

export interface Surface {
  readonly context: CanvasRenderingContext2D;
  /** CSS px. */
  readonly width: number;
  readonly height: number;
}

/** Clears a canvas and fits it to its box in device pixels; null while it has no box. */
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
  return { context, width, height };
}

const patterns = new Map<string, CanvasPattern>();
const hatches = new WeakMap<CanvasPattern, { readonly colour: string; readonly bar: number }>();

/** What a hatch was made of, for a pen that draws it in its own way; undefined for any other pattern. */
export const hatchOf = (pattern: object) => hatches.get(pattern as CanvasPattern);

/** The 45 degree hatch of "held back": bar and gap of one width. */
export function hatch(context: CanvasRenderingContext2D, colour: string, bar: number): CanvasPattern | string {
  const key = `${colour}/${bar}`;
  const known = patterns.get(key);
  if (known !== undefined) return known;
  // A square tile whose side is the horizontal period of a 45 degree bar repeats without a seam.
  const side = Math.round(bar * 2 * Math.SQRT2);
  const tile = document.createElement("canvas");
  tile.width = side;
  tile.height = side;
  const pen = tile.getContext("2d");
  if (pen === null) return colour;
  pen.strokeStyle = colour;
  pen.lineWidth = side / (2 * Math.SQRT2);
  pen.beginPath();
  for (const shift of [-side, 0, side]) {
    pen.moveTo(shift - 1, side + 1);
    pen.lineTo(shift + side + 1, -1);
  }
  pen.stroke();
  const pattern = context.createPattern(tile, "repeat");
  if (pattern === null) return colour;
  patterns.set(key, pattern);
  hatches.set(pattern, { colour, bar });
  return pattern;
}
