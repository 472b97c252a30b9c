/**
 * The bootstrap over runs in the linear case of a mean, which has closed forms. A draw's standard deviation is the plug-in one over the
 * root of n (Efron and Tibshirani's mouse data: 23.36352 and 13.34886; {1, 2, 6}: the root of 14/9, all 27 draws counted:
 * docs/check-values.md, statistics), and the interval is Student's.
 */
import { expect, test } from "vitest";
import { studentQuantile } from "../../../src/shared/judge/distributions.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { drawnHalfWidth, drawRuns } from "../../../src/shared/tune/draw-runs.ts";

const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
/** How far a value moves the mean when it counts once more among n. */
const pullsOf = (values: readonly number[]) => values.map((value) => Float64Array.of((value - mean(values)) / values.length));
const drawn = (values: readonly number[], groups: readonly string[] = values.map(() => ""), drawings?: number) => {
  const runs = drawRuns(pullsOf(values), groups, drawings);
  if (runs === null) throw new Error("nothing drawn");
  return runs;
};

for (const [name, values, error] of [
  ["treated mice", [94, 197, 16, 38, 99, 141, 23], 23.36352],
  ["control mice", [52, 104, 146, 10, 51, 30, 40, 27, 46], 13.34886],
  ["{1, 2, 6}", [1, 2, 6], Math.sqrt(14 / 9)],
] as const) {
  test(`${name}: the standard error of the mean is ${error.toFixed(4)} by all drawings, and by ours but for chance`, () => {
    const { shifts } = drawn(values, undefined, 20_000);
    // 20,000 draws give a standard deviation to half a per cent; the limit is three of those, and more for thick tails.
    expect(Math.sqrt(mean(shifts.map((shift) => shift[0] ** 2))) / error).toBeCloseTo(1, 1.5);
  });
}

test("the 95 % half width is Student's: t s over the root of n, but for the chance of 400 drawings", () => {
  const values = [4.35, 4.42, 4.46, 4.51, 4.4, 4.47];
  const s = Math.sqrt(values.reduce((sum, value) => sum + (value - mean(values)) ** 2, 0) / 5);
  const student = (studentQuantile(0.975, 5) * s) / Math.sqrt(6);
  expect(Math.abs(drawnHalfWidth(drawn(values), 0) / student - 1)).toBeLessThan(0.12);
});

test("over 2,000 days of six normal runs the intervals hold the truth in 95 of 100, within chance", () => {
  const random = createSeededRandom(7);
  let inside = 0;
  for (let day = 0; day < 2000; day += 1) {
    const values = Array.from({ length: 6 }, () => random.normal());
    if (Math.abs(mean(values)) <= drawnHalfWidth(drawn(values), 0)) inside += 1;
  }
  // Binomial: three standard deviations of 2,000 at 0.95 are 0.015; 400 drawings widen that a little.
  expect(Math.abs(inside / 2000 - 0.95)).toBeLessThan(0.02);
});

test("groups are drawn each among their own: what lies between them is no scatter", () => {
  const values = [1, 1.1, 0.9, 5, 5.1, 4.9];
  const groups = ["off", "off", "off", "on", "on", "on"];
  expect(drawnHalfWidth(drawn(values, groups), 0)).toBeLessThan(0.15);
  expect(drawnHalfWidth(drawn(values), 0)).toBeGreaterThan(1);
});

test("runs that are each alone in their group are drawn as one; one run has nothing to draw", () => {
  expect(drawnHalfWidth(drawn([1, 2, 6], ["a", "b", "c"]), 0)).toBeCloseTo(drawnHalfWidth(drawn([1, 2, 6]), 0), 12);
  expect(drawRuns([Float64Array.of(0)], ["a"])).toBeNull();
});
