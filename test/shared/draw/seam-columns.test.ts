/**
 * Pixel columns against a plain definition, written here in a slow way: the largest and least sample that falls in a pixel. No spike may be
 * lost.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { lineColumns, ticks } from "../../../src/shared/draw/line-columns.ts";
import { largest, seamColumns, seamScales } from "../../../src/shared/draw/seam-columns.ts";
import { KMH_AND_M, MPH_AND_FT } from "../../../src/shared/kernel/shown-units.ts";

const samples = fc.array(
  fc.record({
    step: fc.double({ min: 0.001, max: 0.5, noNaN: true }),
    value: fc.oneof(fc.double({ min: -50, max: 300, noNaN: true }), fc.constant(Number.NaN)),
  }),
  { minLength: 1, maxLength: 300 },
);

function laid(items: readonly { step: number; value: number }[]) {
  let t = 0;
  const timeS = items.map(({ step }) => {
    t += step;
    return t;
  });
  return { timeS, values: items.map(({ value }) => value), end: t };
}

test("lineColumns() keeps the least and the largest sample of every pixel", () => {
  fc.assert(
    fc.property(samples, fc.integer({ min: 1, max: 80 }), (items, width) => {
      const { timeS, values, end } = laid(items);
      const columns = lineColumns(timeS, values, { from: 0, to: end + 0.001, width, longestJoin: 0.3 });
      timeS.forEach((t, i) => {
        const value = Math.fround(values[i] as number);
        if (Number.isNaN(value)) return;
        const column = Math.floor((t * width) / (end + 0.001));
        if (column >= width) return;
        expect(columns.most[column]).toBeGreaterThanOrEqual(value);
        expect(columns.least[column]).toBeLessThanOrEqual(value);
      });
      const known = values.filter((value) => !Number.isNaN(value)).map(Math.fround);
      // Joining lines lie between samples, so nothing is drawn that was not measured.
      for (const most of columns.most) if (!Number.isNaN(most)) expect(most).toBeLessThanOrEqual(Math.max(...known) + 1e-4);
    }),
    { numRuns: 300 },
  );
});

test("lineColumns() leaves a gap in the data a gap", () => {
  const columns = lineColumns([0, 0.1, 1.0, 1.1], [1, 1, 2, 2], { from: 0, to: 1.2, width: 12, longestJoin: 0.3 });
  expect([...columns.most].map((value) => (Number.isNaN(value) ? "." : String(value))).join("")).toBe("11........22");
});

test("seamColumns() keeps a spike of one sample at every zoom, with its sign", () => {
  const timeS = Array.from({ length: 600 }, (_, i) => i / 100);
  const slipKmh = timeS.map((_, i) => (i === 333 ? 41 : i === 500 ? -9 : 1));
  for (const width of [6, 50, 97, 600, 1920]) {
    const columns = seamColumns(
      { timeS, slipKmh, heldNm: timeS.map(() => 0), intervening: timeS.map((_, i) => (i === 100 ? 1 : 0)) },
      0,
      6,
      width,
    );
    const known = columns.slipKmh.filter((value) => !Number.isNaN(value));
    expect([Math.max(...known), Math.min(...known)]).toEqual([41, -9]);
    expect(columns.intervening.some((value) => value === 1)).toBe(true);
  }
});

test("seamColumns() draws no ink where speed is unknown, though time goes on", () => {
  const timeS = [0, 0.1, 0.2, 0.3];
  const columns = seamColumns(
    { timeS, slipKmh: [5, Number.NaN, Number.NaN, 5], heldNm: [0, 0, 0, 0], intervening: [0, 0, 0, 0] },
    0,
    0.4,
    4,
  );
  expect([...columns.covered]).toEqual([1, 1, 1, 1]);
  expect([...columns.slipKmh].map(Number.isNaN)).toEqual([false, true, true, false]);
});

test("seamScales() takes the least of the look's fixed scales that holds the largest seen", () => {
  expect(seamScales(0, 0, KMH_AND_M)).toMatchObject({ slipKmh: 15, heldNm: 60 });
  expect(seamScales(15.1, 120, KMH_AND_M)).toMatchObject({ slipKmh: 25, heldNm: 120 });
  expect(seamScales(90, 500, KMH_AND_M)).toMatchObject({ slipKmh: 60, heldNm: 240 });
  // In mph the scales are round in mph: 25 mph is 40.2336 km/h (NIST SP 811).
  expect(seamScales(24.2, 120, MPH_AND_FT).slipKmh).toBeCloseTo(40.2336, 9);
  expect(largest([null, -7, Number.NaN, 3])).toBe(7);
});

test("ticks() gives round steps that hold the largest value", () => {
  fc.assert(
    fc.property(fc.double({ min: 1e-3, max: 1e5, noNaN: true }), fc.integer({ min: 2, max: 8 }), (most, count) => {
      const { step, top } = ticks(most, count);
      expect(top).toBeGreaterThanOrEqual(most * (1 - 1e-9));
      expect(Math.round(top / step)).toBeLessThanOrEqual(count);
      const mantissa = step / 10 ** Math.floor(Math.log10(step) + 1e-9);
      expect([1, 2, 4, 5, 10].some((round) => Math.abs(round - mantissa) < 1e-6)).toBe(true);
    }),
  );
});
