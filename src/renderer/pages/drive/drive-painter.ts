/** Draws what moves on the passenger's view: the two pairs and the growing seam with its posts and pen. Unknown is dots, never the last shape. */
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { postName } from "../../screen/format.ts";
import { paintPair } from "../../draw/pair-painter.ts";
import type { Palette, Pen } from "../../../shared/draw/pen.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { type SeamData, seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import { DRIVE_WEIGHTS, paintPosts, paintSeam } from "../../../shared/draw/seam-painter.ts";
import type { DriveElements } from "./drive-elements.ts";

/** Where gates stand on the axis: expected from the last run of the same setting, or passed now. */
export interface DrivePost {
  readonly gate: string;
  readonly atS: number;
  readonly passed: boolean;
}

export interface DriveFigure {
  readonly live: LiveEvent | null;
  readonly trace: SeamData;
  /** Whose print it is, where the state does not say so; empty where it does. */
  readonly whose: string;
  /** Where the pen stands; null leaves it out. */
  readonly penS: number | null;
  readonly axisS: number;
  readonly posts: readonly DrivePost[];
  readonly scales: SeamScales;
  readonly speedScaleKmh: number;
  readonly torqueScaleNm: number;
}

const kmh = (mps: number | null) => (mps === null ? null : mps * KMH_PER_MPS);
/** Room left of the axis for the pen at rest. */
const LEFT = 24;

/** Where the pen stands on the ground line, and how far its ring is up and its foot down, px. */
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

function paintSeamFigure(canvas: HTMLCanvasElement, figure: DriveFigure, palette: Palette): void {
  const drawn = surface(canvas);
  if (drawn === null) return;
  const { pen, width, height } = drawn;
  const text = fontPx(canvas);
  const axis = width - LEFT - 4;
  const ground = Math.round(height * 0.6);
  const top = text * 1.3;
  const place = { x: LEFT, y: ground, width: axis, up: ground - top - 12, down: height - ground - 14 };
  const columns = seamColumns(figure.trace, 0, figure.axisS, Math.floor(axis));
  const lineWidth = palette.sun ? 6 : 4;
  const unknown = figure.live === null || figure.live.groundSpeedMps === null;
  pen.fillStyle = palette.ink;
  if (unknown) for (let x = LEFT; x < width; x += 9) pen.fillRect(x, ground - 2, 4, 4);
  else pen.fillRect(LEFT, ground - lineWidth / 2, axis, lineWidth);
  paintSeam(pen, { place, columns, scales: figure.scales, weights: { ...DRIVE_WEIGHTS, fontPx: text } }, palette);
  const at = (seconds: number) => LEFT + (seconds / figure.axisS) * axis;
  const posts = figure.posts
    .filter((post) => post.atS <= figure.axisS)
    .map((post) => ({
      x: at(post.atS),
      name: post.passed ? `${postName(post.gate)} ${post.atS.toFixed(2)}` : postName(post.gate),
      shortName: postName(post.gate),
      passed: post.passed,
    }));
  paintPosts(pen, posts, { top: 0, bottom: height, from: 0, to: width, fontPx: text, drive: true }, palette);
  if (figure.whose !== "") {
    pen.font = `500 ${text}px "IBM Plex Sans"`;
    pen.textAlign = "right";
    pen.textBaseline = "bottom";
    pen.lineWidth = 8;
    pen.lineJoin = "round";
    pen.strokeStyle = palette.sheet;
    pen.strokeText(figure.whose, width - 4, height);
    pen.fillStyle = palette.ink;
    pen.fillText(figure.whose, width - 4, height);
  }
  if (figure.penS === null || figure.live === null) return;
  const slip = kmh(figure.live.slipSpeedMps);
  const { torqueRequestNm: asked, torqueDeliveredNm: delivered } = figure.live;
  const held = asked === null || delivered === null || asked <= 0 ? 0 : Math.max(0, asked - delivered);
  const ringUp = slip === null ? 0 : Math.min(1, Math.max(0, slip) / figure.scales.slipKmh) * place.up;
  const footDown = Math.min(1, held / figure.scales.heldNm) * place.down;
  paintPen(pen, { x: at(Math.min(figure.penS, figure.axisS)), y: ground, ringUp, footDown }, palette);
}

export function paintDrive(elements: DriveElements, figure: DriveFigure): void {
  const palette = readPalette();
  const live = figure.live;
  const speed = surface(elements.speedCanvas);
  if (speed !== null)
    paintPair(
      speed,
      { got: kmh(live?.groundSpeedMps ?? null), putIn: kmh(live?.wheelSpeedMps ?? null), scale: figure.speedScaleKmh, gap: "slip" },
      palette,
    );
  const torque = surface(elements.torqueCanvas);
  if (torque !== null)
    paintPair(
      torque,
      { got: live?.torqueDeliveredNm ?? null, putIn: live?.torqueRequestNm ?? null, scale: figure.torqueScaleNm, gap: "held" },
      palette,
    );
  paintSeamFigure(elements.seamCanvas, figure, palette);
}
