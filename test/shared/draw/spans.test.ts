/**
 * A thick line, computed column by column, against the definition of a round pen: every point within its radius of the line (SVG 2, 13.5.2,
 * stroke shape).
 */
import * as fc from "fast-check";
import { expect, test } from "vitest";
import type { Pen } from "../../../src/shared/draw/pen.ts";
import { type Edges, fillBetween, thickened } from "../../../src/shared/draw/spans.ts";

const edges = (pairs: readonly (readonly [number, number] | null)[]): Edges => ({
  upper: Float32Array.from(pairs, (pair) => pair?.[0] ?? Number.NaN),
  lower: Float32Array.from(pairs, (pair) => pair?.[1] ?? Number.NaN),
});

/** Whether a column's ink from upper to lower comes within the radius of a point: Pythagoras to the nearest point of the span. */
function touches({ upper, lower }: Edges, c: number, at: number, y: number, radius: number): boolean {
  const away = Math.max(upper[at] - y, 0, y - lower[at]);
  return Math.hypot(at - c, away) <= radius;
}

test("an edge of the thick line is the outermost point within the radius of any column of the same stretch, and nothing crosses a gap", () => {
  const column = fc.option(
    fc.tuple(fc.integer({ min: 0, max: 200 }), fc.integer({ min: 0, max: 60 })).map(([top, tall]) => [top, top + tall] as const),
    { freq: 4 },
  );
  fc.assert(
    fc.property(fc.array(column, { minLength: 1, maxLength: 30 }), fc.constantFrom(1.25, 1.5, 3), (pairs, radius) => {
      const line = edges(pairs);
      const thick = thickened(line, radius);
      pairs.forEach((pair, c) => {
        expect(Number.isNaN(thick.upper[c] as number)).toBe(pair === null);
        if (pair === null) return;
        let [first, last] = [c, c];
        while (first > 0 && pairs[first - 1] !== null) first -= 1;
        while (last + 1 < pairs.length && pairs[last + 1] !== null) last += 1;
        const inside = (y: number, reach: number) => {
          for (let at = first; at <= last; at += 1) if (touches(line, c, at, y, reach)) return true;
          return false;
        };
        const [top, bottom] = [thick.upper[c], thick.lower[c]];
        // Edges are single precision; where a column is only touched, the pen covers one point of it.
        expect([inside(top, radius + 1e-4), inside(bottom, radius + 1e-4)]).toEqual([true, true]);
        expect([inside(top - 1e-2, radius), inside(bottom + 1e-2, radius)]).toEqual([false, false]);
      });
    }),
  );
});

test("between neighbours, however steep, the ink hangs together; a sample by itself is one column wide", () => {
  const { upper, lower } = thickened(edges([[10, 10], [190, 190], null, [50, 50], null]), 1.25);
  expect(Math.max(upper[0], upper[1])).toBeLessThan(Math.min(lower[0], lower[1]));
  const calls: string[] = [];
  const pen = new Proxy(
    {},
    {
      get:
        (_, name) =>
        (...at: number[]) =>
          calls.push(`${String(name)} ${at.join(" ")}`),
    },
  ) as unknown as Pen;
  fillBetween(pen, edges([null, [50, 52], null]), 64);
  expect(calls).toEqual([
    "beginPath ",
    "moveTo 65 50",
    "lineTo 65.5 50",
    "lineTo 66 50",
    "lineTo 66 52",
    "lineTo 65.5 52",
    "lineTo 65 52",
    "closePath ",
    "fill ",
  ]);
});
