/**
 * What the painters draw with: the part of a canvas that SVG can also do, so that one painter serves screen, saved file and paper. A
 * painter that uses anything else does not compile. Lengths px, angles rad, y downwards.
 */

/** The 45 degree hatch of "held back": line and gap are equally wide, px. */
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
  /** Moves everything drawn from now on to the right and down. */
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
  /** `most`: a wider text is drawn narrower, to fit this width, as long as it can be read; then its middle is left out (`fit-words.ts`). */
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
  /** For bright sun: lines are drawn heavier. */
  readonly sun: boolean;
}
