/**
 * What the painters draw with: the part of a canvas that SVG can do as well, so that one painter serves screen, saved file and paper.
 * What a pen cannot do does not compile. Lengths px, angles rad, y downwards.
 */

/** The 45 degree hatch of "held back": bar and gap of one width, px. */
export interface Hatch {
  readonly colour: string;
  readonly bar: number;
}

export type Ink = string | Hatch;

export interface Pen {
  fillStyle: Ink;
  strokeStyle: string;
  lineWidth: number;
  lineJoin: "round" | "bevel" | "miter";
  /** As in CSS: `500 20px "IBM Plex Sans"`. */
  font: string;
  textAlign: "left" | "center" | "right" | "start" | "end";
  textBaseline: "alphabetic" | "bottom" | "middle" | "top" | "hanging" | "ideographic";
  /** Everything drawn from now on lies so much further right and down. */
  translate(x: number, y: number): void;
  fillRect(x: number, y: number, width: number, height: number): void;
  strokeRect(x: number, y: number, width: number, height: number): void;
  beginPath(): void;
  moveTo(x: number, y: number): void;
  lineTo(x: number, y: number): void;
  closePath(): void;
  arc(x: number, y: number, radius: number, from: number, to: number): void;
  rect(x: number, y: number, width: number, height: number): void;
  fill(): void;
  stroke(): void;
  setLineDash(dash: number[]): void;
  /** `most`: the text is drawn narrower rather than wider than this. */
  fillText(text: string, x: number, y: number, most?: number): void;
  strokeText(text: string, x: number, y: number): void;
  measureText(text: string): { readonly width: number };
}

/** A place to draw on, px. */
export interface Surface {
  readonly pen: Pen;
  readonly width: number;
  readonly height: number;
}

/** The colours of one scheme; any CSS colour. */
export interface Palette {
  readonly sheet: string;
  readonly panel: string;
  readonly ink: string;
  readonly ink2: string;
  readonly rule: string;
  readonly slip: string;
  readonly held: string;
  /** Bright sun: lines are drawn heavier. */
  readonly sun: boolean;
}
