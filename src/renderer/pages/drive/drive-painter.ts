/**
 * Draws the moving parts of the passenger's view: the two pairs, and the growing seam with its posts and pen. Unknown is dots, never the
 * last shape.
 */
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { postName } from "../../screen/format.ts";
import { paintPair } from "../../draw/pair-painter.ts";
import type { Palette, Pen } from "../../../shared/draw/pen.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { type SeamData, seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import type { Span } from "../../../shared/draw/peak-numbers.ts";
import { DRIVE_WEIGHTS, linesTaken, NAME_LINE, namesOf, paintPosts, paintSeam, type Post } from "../../../shared/draw/seam-painter.ts";
import type { DriveElements } from "./drive-elements.ts";

/** A gate's place on the axis: expected from the last run with the same label, or passed now. */
export interface DrivePost {
  readonly gate: string;
  readonly atS: number;
  readonly passed: boolean;
}

export interface DriveFigure {
  readonly live: LiveEvent | null;
  readonly trace: SeamData;
  /** Whose print it is, where the state does not show it; otherwise empty. */
  readonly whose: string;
  /** Where the pen is; null leaves it out. */
  readonly penS: number | null;
  readonly axisS: number;
  readonly posts: readonly DrivePost[];
  readonly scales: SeamScales;
  readonly speedScaleMps: number;
  readonly torqueScaleNm: number;
}

/** Room to the left of the axis for the pen at rest. */
const LEFT = 24;

/** The pen's place on the ground line, and how far its ring is above and its foot below, px. */
interface PenPlace {
  readonly x: number;
  readonly y: number;
  readonly ringUp: number;
  readonly footDown: number;
}

function paintPen(pen: Pen, { x, y, ringUp, footDown }: PenPlace, palette: Palette): void {
  pen.lineWidth = palette.sun ? 6 : 5;
  pen.fillStyle = palette.sheet;
  pen.fillRect(x - 7, y - ringUp, 14, ringUp + footDown);
  pen.strokeStyle = palette.ink;
  pen.beginPath();
  pen.moveTo(x, y - ringUp);
  pen.lineTo(x, y + footDown);
  pen.stroke();
  if (footDown > 6) {
    pen.fillStyle = palette.ink;
    pen.fillRect(x - 19, y + footDown - 4, 38, 9);
  }
  pen.fillStyle = palette.sheet;
  pen.beginPath();
  pen.arc(x, y - ringUp, 19, 0, 7);
  pen.fill();
  pen.beginPath();
  pen.arc(x, y - ringUp, 13, 0, 7);
  pen.stroke();
  pen.fillStyle = palette.ink;
  pen.beginPath();
  pen.arc(x, y, ringUp < 12 ? 6 : 10, 0, 7);
  pen.fill();
}

/** The most that a line of letters takes of the seam's height. */
const LETTERS = 0.17;
/** Half the width of the pen's foot, px. */
const PEN_HALF = 20;

/** Gates as posts on an axis of that many px. */
function postsOf(figure: DriveFigure, axis: number): Post[] {
  return figure.posts
    .filter((post) => post.atS <= figure.axisS)
    .map(({ gate, atS, passed }) => ({
      x: LEFT + (atS / figure.axisS) * axis,
      name: postName(gate),
      ...(passed ? { time: atS.toFixed(2) } : {}),
      passed,
    }));
}

/** Whose print it is, at the foot. */
function paintWhose(pen: Pen, whose: string, { x, y, px }: { x: number; y: number; px: number }, palette: Palette): void {
  pen.font = `500 ${px}px "IBM Plex Sans"`;
  pen.textAlign = "right";
  pen.textBaseline = "bottom";
  pen.lineWidth = 8;
  pen.lineJoin = "round";
  pen.strokeStyle = palette.sheet;
  pen.strokeText(whose, x, y);
  pen.fillStyle = palette.ink;
  pen.fillText(whose, x, y);
}

function paintSeamFigure(canvas: HTMLCanvasElement, figure: DriveFigure, palette: Palette): void {
  const drawn = surface(canvas);
  if (drawn === null) return;
  const { pen, width, height } = drawn;
  // Squeezed between notices and words, the letters leave the shapes their room.
  const text = Math.min(fontPx(canvas), height * LETTERS);
  const axis = width - LEFT - 4;
  const posts = postsOf(figure, axis);
  const postsPlace = { top: 0, bottom: height, from: 0, to: width, fontPx: text, lines: 3, drive: true };
  const lines = linesTaken(namesOf(pen, posts, postsPlace));
  // More lines of names take from what is above the ground line, so the line makes room.
  const ground = Math.round(height * (0.6 + 0.07 * Math.max(0, lines - 1)));
  const top = text * (0.15 + NAME_LINE * Math.max(1, lines));
  const place = { x: LEFT, y: ground, width: axis, up: ground - top - 12, down: height - ground - 14 };
  const columns = seamColumns(figure.trace, 0, figure.axisS, Math.floor(axis));
  const lineWidth = palette.sun ? 6 : 4;
  const unknown = figure.live === null || figure.live.groundSpeedMps === null;
  const at = (seconds: number) => LEFT + (seconds / figure.axisS) * axis;
  const penX = figure.penS === null || figure.live === null ? null : at(Math.min(figure.penS, figure.axisS));
  const taken: Span[] = [
    ...posts.map(({ x }): Span => [x - 8, x + 8]),
    ...(penX === null ? [] : [[penX - PEN_HALF, penX + PEN_HALF] as const]),
  ];
  pen.fillStyle = palette.ink;
  if (unknown) for (let x = LEFT; x < width; x += 9) pen.fillRect(x, ground - 2, 4, 4);
  else pen.fillRect(LEFT, ground - lineWidth / 2, axis, lineWidth);
  paintSeam(pen, { place, columns, scales: figure.scales, weights: { ...DRIVE_WEIGHTS, fontPx: text }, taken }, palette);
  paintPosts(pen, posts, postsPlace, palette);
  if (figure.whose !== "") paintWhose(pen, figure.whose, { x: width - 4, y: height, px: text }, palette);
  if (penX === null || figure.live === null) return;
  const slip = figure.live.slipSpeedMps === null ? null : figure.live.slipSpeedMps * KMH_PER_MPS;
  const { torqueRequestNm: asked, torqueDeliveredNm: delivered } = figure.live;
  const held = asked === null || delivered === null || asked <= 0 ? 0 : Math.max(0, asked - delivered);
  const ringUp = slip === null ? 0 : Math.min(1, Math.max(0, slip) / figure.scales.slipKmh) * place.up;
  const footDown = Math.min(1, held / figure.scales.heldNm) * place.down;
  paintPen(pen, { x: penX, y: ground, ringUp, footDown }, palette);
}

/**
 * All that the drawing is made of, as one line: two that are equal look alike. The trace is told by its length, as it only grows; whose it is, the caller
 * compares.
 */
function pictureOf(figure: DriveFigure, palette: Palette, canvases: readonly HTMLCanvasElement[]): string {
  const { live, trace, ...rest } = figure;
  const seen =
    live === null ? null : [live.groundSpeedMps, live.wheelSpeedMps, live.slipSpeedMps, live.torqueRequestNm, live.torqueDeliveredNm];
  const sizes = canvases.map((canvas) => [canvas.clientWidth, canvas.clientHeight, fontPx(canvas)]);
  // Letters drawn before their font has come are drawn again.
  const place = [sizes, window.devicePixelRatio, document.fonts.status];
  return JSON.stringify([seen, trace.timeS.length, rest, palette, place]);
}

/**
 * Returns a function that draws a figure where it would look otherwise than what is there: a car that stands costs no drawing, however often it is told
 * of.
 */
export function createDrivePainter(elements: DriveElements): (figure: DriveFigure) => void {
  const { speedCanvas, torqueCanvas, seamCanvas } = elements;
  let painted = "";
  let paintedTrace: SeamData | null = null;
  return (figure) => {
    const palette = readPalette();
    const picture = pictureOf(figure, palette, [speedCanvas, torqueCanvas, seamCanvas]);
    if (picture === painted && figure.trace === paintedTrace) return;
    painted = picture;
    paintedTrace = figure.trace;
    const live = figure.live;
    const speed = surface(speedCanvas);
    if (speed !== null)
      paintPair(
        speed,
        { got: live?.groundSpeedMps ?? null, putIn: live?.wheelSpeedMps ?? null, scale: figure.speedScaleMps, gap: "slip" },
        palette,
      );
    const torque = surface(torqueCanvas);
    if (torque !== null)
      paintPair(
        torque,
        { got: live?.torqueDeliveredNm ?? null, putIn: live?.torqueRequestNm ?? null, scale: figure.torqueScaleNm, gap: "held" },
        palette,
      );
    paintSeamFigure(seamCanvas, figure, palette);
  };
}
