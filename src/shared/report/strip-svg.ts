/** Figures of a comparison as SVG: every value as ring or disc with the gain hung from the first group's median, and values in the order driven. Never fails on an empty group. */
import type { Comparison } from "../judge/judged-run.ts";
import { apart, fixed, percent } from "../judge/wording.ts";
import { escapeHtml, px } from "./html.ts";
import { decimalsOf, ticksBetween, tickStep } from "./ticks.ts";

const INK = "var(--ink, #121813)";
const SHEET = "var(--sheet, #EDF1E6)";
const RULE = "var(--rule, #667166)";
const QUIET = "var(--ink-2, #3B463D)";
const MARK = 8;

/** Ring, disc, half disc, ring with a dot: first to fourth group. */
export function groupGlyph(index: number, x: number, y: number, radius = MARK): string {
  const ring = `<circle cx="${px(x)}" cy="${px(y)}" r="${radius}" fill="${index % 4 === 1 ? INK : SHEET}" stroke="${INK}" stroke-width="3"/>`;
  if (index % 4 === 2)
    return `${ring}<path d="M ${px(x)} ${px(y - radius)} A ${radius} ${radius} 0 0 1 ${px(x)} ${px(y + radius)} Z" fill="${INK}"/>`;
  if (index % 4 === 3) return `${ring}<circle cx="${px(x)}" cy="${px(y)}" r="${radius / 3}" fill="${INK}"/>`;
  return ring;
}

/** Marks that would touch go away from their row by turns above and below; gives how far the furthest went. */
function stacked(
  values: readonly number[],
  x: (value: number) => number,
): { readonly marks: readonly { x: number; off: number }[]; readonly reach: number } {
  const marks: { x: number; off: number }[] = [];
  for (const value of [...values].sort((a, b) => a - b)) {
    const at = { x: x(value), off: 0 };
    for (let step = 1; marks.some((other) => Math.hypot(other.x - at.x, other.off - at.off) < 2 * MARK + 2); step += 1)
      at.off = (step % 2 === 1 ? -1 : 1) * Math.ceil(step / 2) * MARK;
    marks.push(at);
  }
  return { marks, reach: Math.max(0, ...marks.map(({ off }) => Math.abs(off))) };
}

/** All values of both groups on one axis of seconds; the gain as a rod, solid where sure, hollow where perhaps. */
export function valueStripSvg(comparison: Comparison, width = 900): string {
  const { a, b, interval, hodgesLehmann: shift } = comparison;
  const hung = a.median;
  const ends = interval && hung !== null ? [hung + interval.low, hung + interval.high] : [];
  const all = [...a.values, ...b.values, ...ends];
  const [least, most] = [Math.min(...all), Math.max(...all)];
  const margin = (most - least || 1) * 0.06;
  const [left, right] = [150, 24];
  const x = (value: number) => left + ((value - least + margin) / (most - least + 2 * margin)) * (width - left - right);
  const [inA, inB] = [stacked(a.values, x), stacked(b.values, x)];
  // However many touch: no mark leaves the drawing, and none lies on the other group or on the gain's number.
  const rowA = Math.max(44, inA.reach + MARK + 6);
  const rowB = Math.max(rowA + 60, rowA + inA.reach + inB.reach + 2 * MARK + 6);
  const gainY = Math.max(rowB + 72, rowB + inB.reach + MARK + 46);
  const height = gainY + 74;
  const glyphs = (group: number, y: number, { marks }: typeof inA) => marks.map((mark) => groupGlyph(group, mark.x, y + mark.off)).join("");
  const ticks = ticksBetween(least - margin, most + margin);
  const decimals = decimalsOf(tickStep(most - least + 2 * margin));
  const grid = ticks.map(
    (tick) =>
      `<line x1="${px(x(tick))}" x2="${px(x(tick))}" y1="8" y2="${height - 36}" stroke="${RULE}"/><text x="${px(x(tick))}" y="${height - 12}" text-anchor="middle" font-size="18" fill="${QUIET}">${fixed(tick, decimals)}</text>`,
  );
  const [shortA, shortB] = apart([a.label, b.label]);
  const row = (label: string, count: number, y: number, glyph: number) =>
    `${groupGlyph(glyph, 10, y)}<text x="28" y="${y + 6}" font-size="18">${escapeHtml(label.length > 11 ? `${label.slice(0, 10)}…` : label)} ${count}</text>`;
  let gain = "";
  if (interval && shift !== null && hung !== null) {
    const holdsZero = interval.low <= 0 && interval.high >= 0;
    const [near, far] = [interval.low, interval.high].sort((p, q) => Math.abs(p) - Math.abs(q)) as [number, number];
    const y = gainY;
    const ends = [far, near].map((value) => ({ value, at: x(hung + value) }));
    // Where both have no room the far end, which is the more careful, stands alone.
    const apart_ = Math.abs((ends[0] as { at: number }).at - (ends[1] as { at: number }).at) > 44;
    const rod = (from: number, to: number, hollow: boolean) => {
      const [start, end] = [Math.min(x(from), x(to)), Math.max(x(from), x(to))];
      return `<rect x="${px(start)}" y="${y - 7}" width="${px(end - start)}" height="14" fill="${hollow ? SHEET : INK}" stroke="${INK}" stroke-width="2.5"/>`;
    };
    const sure = holdsZero ? "" : rod(hung, hung + near, false);
    gain = [
      `<line x1="${px(x(hung))}" x2="${px(x(hung))}" y1="${rowA + 16}" y2="${y - 10}" stroke="${INK}" stroke-width="2" stroke-dasharray="3 5"/>`,
      sure,
      rod(holdsZero ? hung + interval.low : hung + near, holdsZero ? hung + interval.high : hung + far, true),
      `<rect x="${px(x(hung + shift) - 4)}" y="${y - 13}" width="8" height="26" fill="${INK}" stroke="${SHEET}" stroke-width="2"/>`,
      `<text x="0" y="${y + 6}" font-size="18">${shift < 0 ? "gain" : "loss"} ${percent(interval.coverage)}</text>`,
      `<text x="${px(x(hung + shift))}" y="${y - 20}" text-anchor="middle" font-size="18" font-weight="700">${fixed(Math.abs(shift))} s</text>`,
      ...(apart_ ? ends : ends.slice(0, 1)).map(
        ({ value, at }) => `<text x="${px(at)}" y="${y + 28}" text-anchor="middle" font-size="18">${fixed(Math.abs(value))}</text>`,
      ),
    ].join("");
  }
  const title = `${a.label}: ${a.values.map((v) => fixed(v)).join(", ")} s; ${b.label}: ${b.values.map((v) => fixed(v)).join(", ")} s`;
  return `<svg viewBox="0 0 ${width} ${height}" role="img"><title>${escapeHtml(title)}</title>${grid.join("")}${row(shortA as string, a.values.length, rowA, 0)}${row(shortB as string, b.values.length, rowB, 1)}${glyphs(0, rowA, inA)}${glyphs(1, rowB, inB)}${gain}<text x="0" y="${height - 12}" font-size="18" fill="${QUIET}">Seconds</text></svg>`;
}

export interface OrderedRun {
  readonly id: number;
  readonly group: number;
  readonly seconds: number;
}

/** Values against the order driven; with a drift, its line through each group. `runs` in the order driven. */
export function orderStripSvg(comparison: Comparison, runs: readonly OrderedRun[], width = 900): string {
  const height = 240;
  const [left, right, top, bottom] = [70, 24, 16, 44];
  const seconds = runs.map((run) => run.seconds);
  const [least, most] = [Math.min(...seconds), Math.max(...seconds)];
  const margin = (most - least || 1) * 0.08;
  const x = (place: number) => left + 14 + (runs.length < 2 ? 0 : (place / (runs.length - 1)) * (width - left - right - 28));
  const y = (value: number) => top + ((most + margin - value) / (most - least + 2 * margin)) * (height - top - bottom);
  const decimals = decimalsOf(tickStep(most - least + 2 * margin));
  const grid = ticksBetween(least - margin, most + margin).map(
    (tick) =>
      `<line x1="${left}" x2="${width - right}" y1="${px(y(tick))}" y2="${px(y(tick))}" stroke="${RULE}"/><text x="${left - 8}" y="${px(y(tick) + 6)}" text-anchor="end" font-size="18" fill="${QUIET}">${fixed(tick, decimals)}</text>`,
  );
  const { drift } = comparison;
  const lines = [0, 1].map((group) => {
    const places = runs.flatMap((run, place) => (run.group === group ? [{ place, seconds: run.seconds }] : []));
    if (!drift || places.length === 0) return "";
    const centre = places.reduce((sum, p) => sum + p.place, 0) / places.length;
    const level = places.reduce((sum, p) => sum + p.seconds, 0) / places.length;
    const at = (place: number) => y(level + drift.perRun * (place - centre));
    const stroke = (width: number, ink: string) =>
      `<line x1="${px(x(0))}" x2="${px(x(runs.length - 1))}" y1="${px(at(0))}" y2="${px(at(runs.length - 1))}" stroke="${ink}" stroke-width="${width}"/>`;
    return group === 0 ? `${stroke(5, INK)}${stroke(2, SHEET)}` : stroke(3, INK);
  });
  // Numbers of two or three digits at 18 px need some 34 px: with more runs only every second or third is written.
  const every = Math.max(1, Math.ceil((34 * Math.max(1, runs.length - 1)) / (width - left - right - 28)));
  const name = (id: number, place: number) =>
    place % every === 0
      ? `<text x="${px(x(place))}" y="${height - 14}" text-anchor="middle" font-size="18" fill="${QUIET}">${id}</text>`
      : "";
  const marks = runs.map((run, place) => `${groupGlyph(run.group, x(place), y(run.seconds))}${name(run.id, place)}`);
  return `<svg viewBox="0 0 ${width} ${height}" role="img"><title>Seconds in the order driven</title>${grid.join("")}${lines.join("")}${marks.join("")}</svg>`;
}
