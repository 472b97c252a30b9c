/** Draws what moves on the passenger's view: the two pairs and the growing seam with its posts and pen. Unknown is dots, never the last shape. */
import { KMH_PER_MPS } from "../../../shared/kernel/units.ts";
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { postName } from "../../screen/format.ts";
import { paintPair } from "../../draw/pair-painter.ts";
import { fontPx, type Palette, readPalette, surface } from "../../draw/palette.ts";
import { type SeamData, seamColumns, type SeamScales } from "../../draw/seam-columns.ts";
import { DRIVE_WEIGHTS, paintPosts, paintSeam } from "../../draw/seam-painter.ts";
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

function paintPen(context: CanvasRenderingContext2D, x: number, y: number, ringUp: number, footDown: number, palette: Palette): void {
  context.lineWidth = palette.sun ? 6 : 5;
  context.fillStyle = palette.sheet;
  context.fillRect(x - 7, y - ringUp, 14, ringUp + footDown);
  context.strokeStyle = palette.ink;
  context.beginPath();
  context.moveTo(x, y - ringUp);
  context.lineTo(x, y + footDown);
  context.stroke();
  if (footDown > 6) {
    context.fillStyle = palette.ink;
    context.fillRect(x - 19, y + footDown - 4, 38, 9);
  }
  context.fillStyle = palette.sheet;
  context.beginPath();
  context.arc(x, y - ringUp, 19, 0, 7);
  context.fill();
  context.beginPath();
  context.arc(x, y - ringUp, 13, 0, 7);
  context.stroke();
  context.fillStyle = palette.ink;
  context.beginPath();
  context.arc(x, y, ringUp < 12 ? 6 : 10, 0, 7);
  context.fill();
}

function paintSeamFigure(canvas: HTMLCanvasElement, figure: DriveFigure, palette: Palette): void {
  const drawn = surface(canvas);
  if (drawn === null) return;
  const { context, width, height } = drawn;
  const text = fontPx(canvas);
  const axis = width - LEFT - 4;
  const ground = Math.round(height * 0.6);
  const top = text * 1.3;
  const place = { x: LEFT, y: ground, width: axis, up: ground - top - 12, down: height - ground - 14 };
  const columns = seamColumns(figure.trace, 0, figure.axisS, Math.floor(axis));
  const lineWidth = palette.sun ? 6 : 4;
  const unknown = figure.live === null || figure.live.groundSpeedMps === null;
  context.fillStyle = palette.ink;
  if (unknown) for (let x = LEFT; x < width; x += 9) context.fillRect(x, ground - 2, 4, 4);
  else context.fillRect(LEFT, ground - lineWidth / 2, axis, lineWidth);
  paintSeam(context, place, columns, figure.scales, palette, { ...DRIVE_WEIGHTS, fontPx: text });
  const at = (seconds: number) => LEFT + (seconds / figure.axisS) * axis;
  const posts = figure.posts
    .filter((post) => post.atS <= figure.axisS)
    .map((post) => ({
      x: at(post.atS),
      name: post.passed ? `${postName(post.gate)} ${post.atS.toFixed(2)}` : postName(post.gate),
      shortName: postName(post.gate),
      passed: post.passed,
    }));
  paintPosts(context, posts, 0, height, width, palette, text, true);
  if (figure.whose !== "") {
    context.font = `500 ${text}px "IBM Plex Sans"`;
    context.textAlign = "right";
    context.textBaseline = "bottom";
    context.lineWidth = 8;
    context.lineJoin = "round";
    context.strokeStyle = palette.sheet;
    context.strokeText(figure.whose, width - 4, height);
    context.fillStyle = palette.ink;
    context.fillText(figure.whose, width - 4, height);
  }
  if (figure.penS === null || figure.live === null) return;
  const slip = kmh(figure.live.slipSpeedMps);
  const { torqueRequestNm: asked, torqueDeliveredNm: delivered } = figure.live;
  const held = asked === null || delivered === null || asked <= 0 ? 0 : Math.max(0, asked - delivered);
  const ring = slip === null ? 0 : Math.min(1, Math.max(0, slip) / figure.scales.slipKmh) * place.up;
  paintPen(context, at(Math.min(figure.penS, figure.axisS)), ground, ring, Math.min(1, held / figure.scales.heldNm) * place.down, palette);
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
