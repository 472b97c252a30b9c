/** Charts of noticing spin, worked by hand from counts and read back from the drawing: each known value is one mark at its height, what is unknown is none. */
import { expect, test } from "vitest";
import { paintPoints } from "../../../src/shared/draw/point-painter.ts";
import {
  alarmsChart,
  looksChart,
  missedChart,
  noticedChart,
  type PointChart,
  pointEnds,
  pointWords,
} from "../../../src/shared/draw/spin-charts.ts";
import { svgFile } from "../../../src/shared/draw/svg-pen.ts";
import { textWidth } from "../../../src/shared/draw/text-width.ts";
import { spinSection } from "../../../src/shared/report/report-spin.ts";
import type { LimitPoint, NoticeAnswer } from "../../../src/shared/tune/notice.ts";

const PALETTE = { sheet: "#fff", panel: "#fff", ink: "#000", ink2: "#333", rule: "#666", slip: "#a30", held: "#05a", sun: false };
const point = (threshold: number, surface: string | null, missed: number, after: number | null, alarms: number): LimitPoint => ({
  threshold,
  surface,
  spins: 4,
  missed,
  noticedAfterS: after === null ? null : { value: after, plusMinus95: 0.01 },
  slipThen: null,
  falseAlarmsPerMinute: alarms,
});
const LIMITS = [point(10, "dry", 1, 0.05, 2), point(4, "dry", 0, 0.02, 9), point(4, "wet", 2, 0.1, 9), point(10, "wet", 4, null, 2)];
const drawn = (chart: PointChart) =>
  svgFile({ width: 900, height: 420, title: "", textWidth }, PALETTE.sheet, (surface) => paintPoints(surface, chart, PALETTE, 20));
/** Left edge, middle and ink of each whole circle. */
const circles = (svg: string) =>
  [...svg.matchAll(/<path d="M([\d.]+) ([\d.]+)a5 5 [^"]*" fill="([^"]+)"/g)]
    .map(([, x, y, fill]) => ({ x: Number(x), y: Number(y), fill }))
    .filter(({ fill }) => fill !== "none");

test("limits rise along the axis, each surface its own line; a spin that was missed always has no time", () => {
  expect(missedChart(LIMITS)).toMatchObject({
    places: ["4", "10"],
    lines: [
      { name: "dry", values: [0, 25], solid: true },
      { name: "wet", values: [50, 100], solid: false },
    ],
  });
  expect(noticedChart(LIMITS)?.lines.map(({ values }) => values)).toEqual([
    [0.02, 0.05],
    [0.1, null],
  ]);
  expect(alarmsChart(LIMITS)?.lines.map(({ values }) => values)).toEqual([[9, 2]]);
  expect(noticedChart([point(4, null, 4, null, 0)])).toBeNull();
});

test("each known value is a mark at its height: discs for the first surface, rings for the second", () => {
  const chart = noticedChart(LIMITS) as PointChart;
  const marks = circles(drawn(chart));
  expect(marks.map(({ fill }) => fill)).toEqual(["#000", "#000", "#fff"]);
  const { least, most } = pointEnds(chart);
  expect(least).toBe(0);
  const [first, second, third] = marks;
  if (first === undefined || second === undefined || third === undefined) throw new Error("three marks are expected");
  // 0.02, 0.05 and 0.1 on one straight scale.
  expect((first.y - second.y) / (second.y - third.y)).toBeCloseTo(0.03 / 0.05, 3);
  expect(first.x).toBeCloseTo(third.x, 6);
  expect(most).toBeGreaterThan(0.1);
});

test("no axis of shares, counts or seconds goes below 0", () => {
  // Nothing missed at any limit, no false alarm, and spin noticed at once.
  const none = [point(4, "dry", 0, 0.002, 0), point(10, "dry", 0, 0.002, 0)];
  for (const chart of [missedChart(none), alarmsChart(none), noticedChart(none)]) {
    const { least, most } = pointEnds(chart as PointChart);
    expect(least).toBe(0);
    expect(most).toBeGreaterThan(0);
    expect(drawn(chart as PointChart)).not.toContain("\u2212");
  }
});

test("lines that end at one point, as where a high limit misses every spin on every surface, keep their names apart", () => {
  const surfaces = ["dry", "wet", "gravel"];
  for (const missed of [0, 2, 4]) {
    const limits = surfaces.flatMap((surface) => [point(4, surface, 1, 0.1, 1), point(10, surface, missed, 0.1, 1)]);
    const svg = drawn(missedChart(limits) as PointChart);
    const at = surfaces.map((name) => Number(new RegExp(`y="([\\d.]+)"[^>]*>${name}<`).exec(svg)?.[1]));
    expect(at.every(Number.isFinite)).toBe(true);
    for (const [i, one] of at.entries()) for (const other of at.slice(0, i)) expect(Math.abs(one - other)).toBeGreaterThanOrEqual(20);
    // The axis stays free.
    for (const one of at) expect(one).toBeLessThan(420 - 3 * 20 + 10);
  }
});

test("looking rates are called a simulation, with what cannot be driven left out", () => {
  const chart = looksChart(
    [
      { perSecond: 3, seconds: null, strength: 1 },
      { perSecond: 200, seconds: 4.2, strength: 1 },
    ],
    "0-60 mph",
  ) as PointChart;
  expect(chart.title).toMatch(/^Simulation: 0-60 mph/);
  expect(circles(drawn(chart))).toHaveLength(1);
  expect(pointWords(chart)).toContain("200 looks a second 4.2 s");
});

test("on paper the same charts stand beside a sentence a way; where nothing was replayed there is nothing", () => {
  const way: NoticeAnswer = {
    way: "wheels",
    threshold: 0.15,
    everyS: 0.01,
    lateS: 0,
    unit: "1",
    spins: 4,
    missed: 1,
    noticedAfterS: { value: 0.04, plusMinus95: 0.01 },
    slipThen: null,
    falseAlarms: 3,
    minutes: 2,
    falseAlarmsPerMinute: 1.5,
    bySurface: [],
    each: [],
    why: null,
  };
  const paper = String(spinSection({ notice: { ways: [way], limits: LIMITS }, predicted: null }));
  expect(paper.replaceAll("\u00a0", " ")).toContain(
    "Driven against undriven wheels over 15 % slip, looking 100 times a second: noticed 0.04 s after slip passes it, 1 of 4 spins missed, 1.5 false alarms a minute.",
  );
  expect(paper.match(/<svg/g)).toHaveLength(3);
  expect(spinSection({ notice: { ways: [{ ...way, why: "No run spun." }], limits: [] }, predicted: null })).toBeNull();
});
