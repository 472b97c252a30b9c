/**
 * Paints friction used against slip: measured values as discs in their band, the formula as a line as far as it is valid, best slip as a
 * rod with its interval, and posts where the groups' controls hold slip.
 */
import { number } from "../kernel/number-words.ts";
import { frictionAt, type GripCurve } from "../tune/grip-curve.ts";
import type { Palette, Pen, Surface } from "./pen.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";
import { textOf } from "./value-strip.ts";

/** The slip at which a group's control holds the wheels. */
export interface HeldAt {
  readonly name: string;
  readonly slip: number;
}

const LINE_POINTS = 80;
/** Slip beyond this says nothing about the best slip. */
const MOST_SLIP = 0.6;

/** The axis ends well past the best slip; where that is unknown, at the largest slip seen. */
export function slipAxisEnd({ largestSlip, bestSlip, curve }: GripCurve): number {
  const seen = Math.max(largestSlip ?? 0, ...curve.map((point) => point.slip));
  return Math.min(MOST_SLIP, Math.max(0.1, bestSlip === null ? 1.2 * seen : 2.2 * bestSlip.value));
}

/**
 * The formula as points of slip and friction. Where the peak was not reached, it ends with the largest slip seen. Empty without a formula.
 */
export function formulaPoints({ formula, bestSlip, largestSlip }: GripCurve, endSlip: number): { slip: number; friction: number }[] {
  if (formula === null) return [];
  const last = bestSlip === null ? Math.min(endSlip, largestSlip ?? endSlip) : endSlip;
  return Array.from({ length: LINE_POINTS + 1 }, (_, i) => {
    const slip = (last * i) / LINE_POINTS;
    return { slip, friction: frictionAt(formula, slip) };
  });
}

/** High enough for all that was measured and for the formula. */
export function frictionAxisEnd(curve: GripCurve): number {
  const formula = formulaPoints(curve, slipAxisEnd(curve)).map((point) => point.friction);
  return 1.1 * Math.max(0.1, ...curve.curve.map((point) => point.high), ...formula);
}

interface Axes {
  readonly x: (slip: number) => number;
  readonly y: (friction: number) => number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly foot: number;
}

function axes({ pen, width, height }: Surface, curve: GripCurve, palette: Palette, px: number): Axes {
  const [left, right, top, foot] = [px * 2.4, width - px, px * 0.6, height - px * 1.8];
  const end = slipAxisEnd(curve);
  const most = frictionAxisEnd(curve);
  const at = { x: (slip: number) => left + (slip / end) * (right - left), y: (mu: number) => foot - (mu / most) * (foot - top) };
  for (const tick of ticksBetween(0, most, 5)) {
    pen.fillStyle = palette.rule;
    pen.fillRect(left, at.y(tick), right - left, 1);
    textOf(pen, px, 500, palette.ink2, "right");
    pen.fillText(number(tick, decimalsOf(tickStep(most, 5))), left - 8, at.y(tick));
  }
  for (const tick of ticksBetween(0, 100 * end, 8)) {
    pen.fillStyle = palette.rule;
    pen.fillRect(at.x(tick / 100), top, 1, foot - top);
    textOf(pen, px, 500, palette.ink2, "center");
    pen.fillText(`${number(tick, decimalsOf(tickStep(100 * end, 8)))} %`, at.x(tick / 100), height - px * 0.8);
  }
  return { ...at, left, right, top, foot };
}

function band(pen: Pen, whole: GripCurve, { x, y }: Axes, palette: Palette): void {
  const end = slipAxisEnd(whole);
  const curve = whole.curve.filter(({ slip }) => slip <= end);
  for (const { slip, low, high } of curve) {
    pen.fillStyle = palette.ink2;
    pen.fillRect(x(slip) - 1, y(high), 2, Math.max(1, y(low) - y(high)));
  }
  pen.fillStyle = palette.ink;
  for (const { slip, friction } of curve) {
    pen.beginPath();
    pen.arc(x(slip), y(friction), 4, 0, 2 * Math.PI);
    pen.fill();
  }
}

/** Words on a halo, to the right of their mark and inside the figure. */
function label(
  pen: Pen,
  text: string,
  { at, y, px }: { at: number; y: number; px: number },
  { left, right }: Axes,
  palette: Palette,
): void {
  textOf(pen, px, 700, palette.ink, "left");
  const width = pen.measureText(text).width;
  const x = Math.max(left + 4, Math.min(right - width - 4, at + 12));
  pen.fillStyle = palette.sheet;
  pen.fillRect(x - 4, y - px * 0.7, width + 8, px * 1.4);
  pen.fillStyle = palette.ink;
  pen.fillText(text, x, y);
}

export function paintGrip(surface: Surface, curve: GripCurve, held: readonly HeldAt[], palette: Palette, px: number): void {
  const { pen } = surface;
  const at = axes(surface, curve, palette, px);
  band(pen, curve, at, palette);
  pen.strokeStyle = palette.ink;
  pen.lineWidth = 3;
  pen.beginPath();
  for (const [i, { slip, friction }] of formulaPoints(curve, slipAxisEnd(curve)).entries()) {
    if (i === 0) pen.moveTo(at.x(slip), at.y(friction));
    else pen.lineTo(at.x(slip), at.y(friction));
  }
  pen.stroke();
  if (curve.bestSlip !== null) {
    const { value, plusMinus95 } = curve.bestSlip;
    const [low, high] = [at.x(value - plusMinus95), at.x(value + plusMinus95)];
    pen.fillStyle = palette.ink;
    pen.fillRect(low, at.foot - 12, Math.max(3, high - low), 12);
    pen.fillRect(at.x(value) - 1.5, at.top, 3, at.foot - at.top);
    const words = `best ${number(100 * value, 1)} ± ${number(100 * plusMinus95, 1)} %`;
    label(pen, words, { at: at.x(value), y: at.foot - 14 - px * 0.7, px }, at, palette);
  }
  for (const [i, { name, slip }] of held.entries()) {
    const x = at.x(slip);
    if (x > at.right) continue;
    pen.fillStyle = palette.sheet;
    pen.fillRect(x - 4, at.foot - 46, 8, 46);
    pen.strokeStyle = palette.ink;
    pen.strokeRect(x - 4, at.foot - 46, 8, 46);
    label(pen, name, { at: x, y: at.foot - 14 - px * (2.2 + 1.5 * i), px }, at, palette);
  }
}
