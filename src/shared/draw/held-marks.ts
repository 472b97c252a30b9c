/**
 * Marks each time a control held torque back, in a lane of its own under a launch: hollow from slip passing what is allowed to the answer, then a solid
 * bar on two feet until torque is let go again, numbered as the rows of the table. What lies outside of the axis is cut off; none paints nothing.
 */
import { NARROWEST } from "./fit-words.ts";
import type { Palette, Pen } from "./pen.ts";
import { textOf } from "./value-strip.ts";

/** Places on the launch's axis, s from movement or m. */
export interface HeldMark {
  /** Row of the table, from 1. */
  readonly row: number;
  /** Slip passed what the control allows; null where that was not told. */
  readonly passedAt: number | null;
  /** Torque came down, and was let go. */
  readonly fromAt: number;
  readonly toAt: number;
}

/** What a mark is made from, s on one base. */
interface Held {
  readonly passedS: number | null;
  readonly fromS: number;
  readonly toS: number;
}

/** In seconds from movement. */
export const heldMarks = (interventions: readonly Held[], movementS: number): HeldMark[] =>
  interventions.map(({ passedS, fromS, toS }, i) => ({
    row: i + 1,
    passedAt: passedS === null ? null : passedS - movementS,
    fromAt: fromS - movementS,
    toAt: toS - movementS,
  }));

/** The lane: its upper left corner, its width in px and on the axis. */
export interface HeldLane {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly from: number;
  readonly to: number;
  readonly px: number;
}

export const HELD_WAIT = "slip over what is allowed, no answer yet";
export const HELD_BACK = "torque held back";
/** Where there is no room for that. */
const BRIEFLY = ["too much slip, no answer", "held back"] as const;

/** Heights in sizes of letters. */
export const HELD_LANE = 1.3;
export const HELD_KEY = 1.4;
const BAR = 0.3;
const FEET = 0.45;
const LEAST_PX = 2;

/** A hollow part from one x to another, then the bar on its feet. */
function paintShape(pen: Pen, [wait, from, to]: readonly [number | null, number, number], y: number, px: number, palette: Palette): void {
  const [bar, edge] = [Math.max(3, px * BAR), px < 14 ? 1 : 2];
  pen.fillStyle = palette.ink;
  pen.fillRect(from, y, Math.max(LEAST_PX, to - from), bar);
  for (const foot of [from, Math.max(from, to - edge * 1.5)]) pen.fillRect(foot, y, edge * 1.5, bar + px * FEET);
  if (wait === null || from - wait < LEAST_PX) return;
  pen.strokeStyle = palette.ink;
  pen.lineWidth = edge;
  pen.strokeRect(wait + edge / 2, y + edge / 2, from - wait - edge / 2, bar - edge);
}

export function paintHeldMarks(pen: Pen, marks: readonly HeldMark[], { x, y, width, from, to, px }: HeldLane, palette: Palette): void {
  const place = (at: number) => x + Math.min(1, Math.max(0, (at - from) / (to - from))) * width;
  let freeFrom = x;
  for (const { row, passedAt, fromAt, toAt } of marks) {
    if (toAt <= from || fromAt >= to) continue;
    const [left, right] = [place(fromAt), place(toAt)];
    paintShape(pen, [passedAt === null ? null : place(passedAt), left, right], y, px, palette);
    // Between the feet where it fits, else right of them, never over the number before.
    textOf(pen, px, 700, palette.ink, "left");
    const [text, middle] = [String(row), y + px * 0.85];
    const wide = pen.measureText(text).width;
    const inside = right - left > wide + px * 0.5;
    const at = inside ? left + px * 0.25 : right + px * 0.15;
    if (at < freeFrom || at + wide > x + width) continue;
    pen.fillText(text, at, middle);
    freeFrom = at + wide + px * 0.2;
  }
}

/** Both parts of a mark and what they stand for, on one line; in fewer words, and then drawn narrower, rather than wider than the lane. */
export function paintHeldKey(pen: Pen, { x, y, width, px }: Pick<HeldLane, "x" | "y" | "width" | "px">, palette: Palette): void {
  const sample = px * 1.6;
  textOf(pen, px, 500, palette.ink, "left");
  const room = width - 2 * sample - 4 * px;
  const shareOf = (words: readonly string[]) => Math.min(1, room / words.reduce((sum, text) => sum + pen.measureText(text).width, 0));
  const [waits, held] = shareOf([HELD_WAIT, HELD_BACK]) >= NARROWEST ? [HELD_WAIT, HELD_BACK] : BRIEFLY;
  const share = shareOf([waits, held]);
  const wide = pen.measureText(waits).width;
  const middle = y + px * 0.7;
  const bar = middle - (px * BAR) / 2;
  const second = x + sample + px * 0.5 + wide * share + px * 1.5;
  paintKeyPart(pen, [x, x + sample], bar, px, palette);
  paintShape(pen, [null, second, second + sample], bar, px, palette);
  textOf(pen, px, 500, palette.ink, "left");
  pen.fillText(waits, x + sample + px * 0.5, middle, wide * share);
  pen.fillText(held, second + sample + px * 0.5, middle, pen.measureText(held).width * share);
}

function paintKeyPart(pen: Pen, [from, to]: readonly [number, number], y: number, px: number, palette: Palette): void {
  const edge = px < 14 ? 1 : 2;
  pen.strokeStyle = palette.ink;
  pen.lineWidth = edge;
  pen.strokeRect(from + edge / 2, y + edge / 2, to - from - edge, Math.max(3, px * BAR) - edge);
}

/** For those who cannot see them; empty without any. */
export const heldMarkWords = (marks: readonly HeldMark[]): string =>
  marks.length === 0
    ? ""
    : `Torque held back ${marks.length === 1 ? "once" : `${marks.length} times`}: ${marks.map(({ fromAt, toAt }) => `${fromAt.toFixed(2)} to ${toAt.toFixed(2)}`).join(", ")}`;
