/**
 * The report's figures: what docs/look.md asks of prints and strips, checked on the SVG that is printed. The painters are those of the
 * screens.
 */
import { describe, expect, test } from "vitest";
import { compare } from "../../../src/shared/judge/compare.ts";
import type { Comparison } from "../../../src/shared/judge/judged-run.ts";
import * as figures from "../../../src/shared/report/report-figures.ts";
import { KMH_AND_M } from "../../../src/shared/kernel/shown-units.ts";
import { judgedRun } from "../judge/judged-run.fixture.ts";
import { reportDay } from "./report-day.fixture.ts";

const printScales = (prints: Parameters<typeof figures.printScales>[0]) => figures.printScales(prints, KMH_AND_M);
const printSvg = (...given: Parameters<typeof figures.printSvg>) => String(figures.printSvg(...given));
const valueStripSvg = (pair: Comparison, driven: readonly number[]) => String(figures.valueStripSvg(pair, driven, ["off", "on"]));
const orderStripSvg = (pair: Comparison, driven: readonly number[]) => String(figures.orderStripSvg(pair, driven, ["off", "on"]));

const numbers = (text: string) => (text.match(/-?[\d.]+/g) ?? []).map(Number);

/** Filled outlines of one colour: the y of every corner. */
const outlines = (svg: string, fill: string) =>
  [...svg.matchAll(/<path d="([^"]+)" fill="([^"]+)"\/>/g)]
    .filter((match) => match[2]?.includes(fill))
    .map((match) => numbers(match[1] as string).filter((_, i) => i % 2 === 1));

/** Whole circles that are filled, as a group's mark is. */
const marks = (svg: string) =>
  [...svg.matchAll(/<path d="M([\d.]+) ([\d.]+)a([\d.]+) [^"]+Z" fill="var\(--(ink|sheet)\)"\/>/g)].map(([, left, y, radius, fill]) => ({
    x: Number(left) + Number(radius),
    y: Number(y),
    radius: Number(radius),
    solid: fill === "ink",
  }));

const texts = (svg: string) =>
  [...svg.matchAll(/<text x="([\d.-]+)" y="([\d.-]+)"(?: textLength="([\d.]+)"[^>]*?)? font-size="([\d.]+)"[^>]*>([^<]*)</g)].map(
    ([, x, y, width, size, text]) => ({ x: Number(x), y: Number(y), width: Number(width), size: Number(size), text: text as string }),
  );

describe("prints", () => {
  const style = { scales: { slipKmh: 15, heldNm: 60, units: KMH_AND_M }, seconds: 1, title: "run 1", setAside: false, marks: null };
  const flat = (slip: number | null, held: number | null, n = 21) => ({
    slipKmh: new Array(n).fill(slip),
    heldNm: new Array(n).fill(held),
    intervening: new Array(n).fill(false),
  });
  const GROUND_Y = 82;

  test("a perfect launch leaves a bare line; unknown leaves dots and no ink", () => {
    const bare = printSvg(flat(0, 0), style);
    expect(outlines(bare, "--slip")).toEqual([]);
    expect(outlines(bare, "hatch")).toEqual([]);
    const dots = (svg: string) => [...svg.matchAll(/<rect [^>]*width="3" height="3"/g)].length;
    expect(dots(bare)).toBe(0);
    const unknown = printSvg(flat(null, null), style);
    expect(outlines(unknown, "--slip")).toEqual([]);
    expect(outlines(unknown, "hatch")).toEqual([]);
    expect(dots(unknown)).toBeGreaterThan(20);
  });

  test("slip lies above the ground line, held back below it, to scale", () => {
    const [half, full] = [printSvg(flat(7.5, 30), style), printSvg(flat(15, 60), style)];
    for (const [fill, above] of [
      ["--slip", true],
      ["hatch", false],
    ] as const) {
      const [ys, whole] = [outlines(half, fill)[0] as number[], outlines(full, fill)[0] as number[]];
      if (above) expect(Math.max(...ys)).toBeLessThan(GROUND_Y);
      else expect(Math.min(...ys)).toBeGreaterThan(GROUND_Y);
      const height = (all: number[]) => Math.max(...all) - Math.min(...all);
      expect(height(ys) / height(whole)).toBeCloseTo(0.5, 1);
    }
  });

  test("ink beyond the scale is cut and numbered; behind is a dotted outline; set aside is struck through; the control's work is stitched", () => {
    const cut = printSvg(flat(31, 0), style);
    expect(texts(cut).map(({ text }) => text)).toContain("31 km/h");
    expect(Math.min(...(outlines(cut, "--slip")[0] as number[]))).toBeGreaterThanOrEqual(16);
    expect(printSvg(flat(-5, 0), style)).toContain('stroke-dasharray="3 6"');
    expect(printSvg(flat(1, 0), { ...style, setAside: true })).toContain('d="M0 146L300 4"');
    const stitched = { ...flat(1, 20), intervening: new Array(21).fill(true) };
    const whites = (svg: string) => [...svg.matchAll(/<rect [^>]*fill="var\(--sheet\)"/g)].length;
    expect(whites(printSvg(stitched, style))).toBeGreaterThan(whites(printSvg(flat(1, 20), style)) + 20);
  });

  test("scales are the look's, the least that hold the largest", () => {
    expect(printScales([flat(24, 61)])).toMatchObject({ slipKmh: 25, heldNm: 120 });
    expect(printScales([flat(-61, 0)])).toMatchObject({ slipKmh: 60, heldNm: 60 });
    expect(printScales([])).toMatchObject({ slipKmh: 15, heldNm: 60 });
  });
});

describe("strips", () => {
  const day = reportDay();
  const driven = day.runs.map(({ id }) => id);

  test("every value has its mark, rings for the first group and discs for the second", () => {
    const comparison = day.comparisons[0]!;
    const strip = valueStripSvg(comparison, driven);
    // Each group's mark stands before its name as well.
    for (const solid of [true, false]) expect(marks(strip).filter((mark) => mark.solid === solid)).toHaveLength(6 + 1);
    expect(texts(strip).map(({ text }) => text)).toEqual(expect.arrayContaining(["gain", "96 %"]));
    expect(marks(orderStripSvg(comparison, driven))).toHaveLength(12);
  });

  test("however many values fall together, no mark leaves the drawing or touches the other group or the gain's number, and what has no room is counted", () => {
    const crowd = (label: string, seconds: number, from: number, count: number) =>
      Array.from({ length: count }, (_, i) => judgedRun(from + i, label, seconds + i * 1e-4));
    const runs = [...crowd("off", 5, 1, 14), ...crowd("on", 4.9, 20, 11)];
    const strip = valueStripSvg(
      compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs, plan: null }),
      runs.map(({ id }) => id),
    );
    const height = Number(/viewBox="0 0 \d+ ([\d.]+)"/.exec(strip)?.[1]);
    const own = marks(strip).filter(({ x }) => x > 100);
    const hidden = texts(strip).flatMap(({ text }) => (text.endsWith(" not drawn") ? [Number.parseInt(text, 10)] : []));
    expect(own.length + hidden.reduce((sum, count) => sum + count, 0)).toBe(25);
    for (const { y, radius } of own) {
      expect(y - radius).toBeGreaterThanOrEqual(0);
      expect(y + radius).toBeLessThan(height);
    }
    const [rings, discs] = [own.filter(({ solid }) => !solid), own.filter(({ solid }) => solid)];
    const lowest = (all: typeof own) => Math.max(...all.map(({ y, radius }) => y + radius));
    expect(Math.min(...discs.map(({ y, radius }) => y - radius))).toBeGreaterThan(lowest(rings));
    const gain = texts(strip).find(({ text }) => /^0\.\d\d\u00a0s$/.test(text));
    // Letters stand some 0.75 em above their line.
    expect((gain?.y ?? 0) - 0.75 * (gain?.size ?? 0)).toBeGreaterThanOrEqual(lowest(discs));
    expect(gain?.y).toBeLessThan(height);
  });

  test("however many runs, the numbers under the order driven never touch", () => {
    const runs = Array.from({ length: 60 }, (_, i) => judgedRun(100 + i, i % 2 === 0 ? "off" : "on", 5 + (i % 7) * 0.01));
    const order = orderStripSvg(
      compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs, plan: null }),
      runs.map(({ id }) => id),
    );
    const at = texts(order).filter(({ text }) => /^1\d\d$/.test(text));
    expect(at.length).toBeGreaterThan(10);
    for (const [i, { x, width }] of at.slice(1).entries()) expect(x - (at[i]?.x ?? 0)).toBeGreaterThan(width);
  });

  test("equal values and single runs draw without dividing by nothing", () => {
    const runs = [judgedRun(1, "off", 5), judgedRun(2, "on", 5)];
    const same = compare({ gate: "0-60 mph", start: "movement", groups: ["off", "on"], runs, plan: null });
    for (const svg of [valueStripSvg(same, [1, 2]), orderStripSvg(same, [1])]) expect(svg).not.toMatch(/NaN|Infinity|undefined/);
  });
});
