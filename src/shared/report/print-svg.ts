/**
 * A launch's print as SVG: ground line, solid slip above, hatched torque held back below, stitches where the control
 * intervenes. Unknown is dots and no ink; ink beyond the scale is cut flat under a double bar with its number.
 */
import { escapeHtml, px } from "./html.ts";

/** One value each 50 ms from movement; null unknown. */
export interface Print {
  readonly slipKmh: readonly (number | null)[];
  readonly heldNm: readonly (number | null)[];
  readonly intervening: readonly boolean[];
}

export interface PrintScales {
  readonly slipKmh: number;
  readonly heldNm: number;
}

export interface PrintStyle {
  readonly width: number;
  readonly height: number;
  readonly scales: PrintScales;
  /** Seconds over the whole width, the same for prints to be compared. */
  readonly seconds: number;
  /** What a reader who cannot see it hears. */
  readonly title: string;
  readonly setAside: boolean;
}

const STEP_S = 0.05;
const SLIP_SCALES = [15, 25, 40, 60];
const HELD_SCALES = [60, 120, 240];
const KERF = 3;
const GROUND = 3;
/** Share of the height above the ground line. */
const ABOVE = 0.58;
/** Room for the double bar and its number. */
const HEAD = 16;
const SLIP = "var(--slip, #8E2F00)";
const HELD = "var(--held, #084C7A)";
const INK = "var(--ink, #121813)";

const largest = (values: readonly (number | null)[]) => values.reduce<number>((most, value) => Math.max(most, Math.abs(value ?? 0)), 0);

/** The day's scales: the least that hold the largest seen; the last where none does (ink is then cut and numbered). */
export function printScales(prints: readonly Print[]): PrintScales {
  const least = (scales: readonly number[], most: number) => scales.find((scale) => scale >= most) ?? (scales[scales.length - 1] as number);
  return {
    slipKmh: least(SLIP_SCALES, largest(prints.flatMap((print) => print.slipKmh))),
    heldNm: least(HELD_SCALES, largest(prints.flatMap((print) => print.heldNm))),
  };
}

/** The `<defs>` that every page with prints needs once: the hatch of held-back torque. */
export function printDefs(): string {
  return `<svg width="0" height="0" aria-hidden="true" style="position:absolute"><defs><pattern id="held-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="3" height="6" fill="${HELD}"/></pattern></defs></svg>`;
}

/** Neighbouring steps that a test holds for, as [from, to). */
function spans(length: number, holds: (step: number) => boolean): [number, number][] {
  const found: [number, number][] = [];
  let from = -1;
  for (let step = 0; step <= length; step += 1) {
    const inside = step < length && holds(step);
    if (inside && from < 0) from = step;
    if (!inside && from >= 0) {
      found.push([from, step]);
      from = -1;
    }
  }
  return found;
}

interface Side {
  readonly values: readonly (number | null)[];
  readonly scale: number;
  readonly extent: number;
  readonly base: number;
  readonly sign: 1 | -1;
  readonly unit: string;
}

function outline(side: Side, from: number, to: number, x: (step: number) => number): string {
  const points: string[] = [];
  for (let step = from; step < to; step += 1) {
    const height = (Math.min(Math.abs(side.values[step] ?? 0), side.scale) / side.scale) * side.extent;
    points.push(`${px(x(step))},${px(side.base + side.sign * height)}`);
  }
  return points.join(" ");
}

function area(side: Side, x: (step: number) => number, fill: string, stroke: string): string {
  return spans(side.values.length, (step) => (side.values[step] ?? 0) > 0)
    .map(([from, to]) => {
      const [left, right] = [px(x(Math.max(0, from - 0.5))), px(x(to - 0.5))];
      return `<polygon points="${left},${px(side.base)} ${outline(side, from, to, x)} ${right},${px(side.base)}" fill="${fill}" stroke="${stroke}" stroke-width="1"/>`;
    })
    .join("");
}

function caps(side: Side, x: (step: number) => number): string {
  return spans(side.values.length, (step) => Math.abs(side.values[step] ?? 0) > side.scale)
    .map(([from, to]) => {
      const top = side.base + side.sign * side.extent;
      const bar = (away: number) =>
        `<rect x="${px(x(from) - 2)}" y="${px(top + side.sign * away - 0.75)}" width="${px(x(to - 1) - x(from) + 4)}" height="1.5" fill="${INK}"/>`;
      const y = side.sign < 0 ? top - 6 : top + 16;
      return `${bar(2)}${bar(5)}<text x="${px(x(from))}" y="${px(y)}" font-size="11" fill="${INK}">${Math.round(largest(side.values.slice(from, to)))} ${side.unit}</text>`;
    })
    .join("");
}

/** The whole `<svg>`; needs `printDefs()` once on the page. Steps beyond `seconds` are left off. */
export function printSvg(print: Print, style: PrintStyle): string {
  const { width, height, scales, seconds } = style;
  const steps = Math.min(print.slipKmh.length, Math.floor(seconds / STEP_S) + 1);
  const cut = <T>(values: readonly T[]) => values.slice(0, steps);
  const x = (step: number) => (step * STEP_S * width) / seconds;
  const y = HEAD + (height - 2 * HEAD) * ABOVE;
  const slip: Side = {
    values: cut(print.slipKmh),
    scale: scales.slipKmh,
    extent: y - HEAD - GROUND / 2 - KERF,
    base: y - GROUND / 2 - KERF,
    sign: -1,
    unit: "km/h",
  };
  const held: Side = {
    values: cut(print.heldNm),
    scale: scales.heldNm,
    extent: height - HEAD - y - GROUND / 2 - KERF,
    base: y + GROUND / 2 + KERF,
    sign: 1,
    unit: "Nm",
  };
  const behind = spans(steps, (step) => (slip.values[step] ?? 0) < 0)
    .map(
      ([from, to]) =>
        `<polyline points="${outline(slip, from, to, x)}" fill="none" stroke="${SLIP}" stroke-width="2" stroke-dasharray="2 4"/>`,
    )
    .join("");
  const known = spans(steps, (step) => slip.values[step] !== null);
  const unknown = spans(steps, (step) => slip.values[step] === null);
  const line = (from: number, to: number, dash: string, ink: string) =>
    `<line x1="${px(x(from))}" x2="${px(x(to))}" y1="${px(y)}" y2="${px(y)}" stroke="${ink}" stroke-width="${GROUND}"${dash && ` stroke-dasharray="${dash}"`}/>`;
  const ground = [
    ...known.map(([from, to]) => line(from, Math.min(to, steps - 1), "", INK)),
    ...unknown.map(
      ([from, to]) => `${line(from, to, "3 9", INK)}<text x="${px(x(from))}" y="${px(y - 6)}" font-size="11" fill="${INK}">unknown</text>`,
    ),
    ...spans(steps, (step) => print.intervening[step] === true).map(([from, to]) => line(from, to, "4 4", "var(--sheet, #EDF1E6)")),
  ].join("");
  const strike = style.setAside ? `<line x1="0" x2="${width}" y1="${px(height - 4)}" y2="4" stroke="${INK}" stroke-width="2"/>` : "";
  const ink = `${area(slip, x, SLIP, SLIP)}${behind}${area(held, x, "url(#held-hatch)", HELD)}${caps(slip, x)}${caps(held, x)}`;
  return `<svg class="print" viewBox="0 0 ${width} ${height}" role="img"><title>${escapeHtml(style.title)}</title>${ink}${ground}${strike}</svg>`;
}
