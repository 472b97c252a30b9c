/** The formula as best slip, peak and shape: against the published surfaces (SOURCES section 4) and against differences of its own values. */
import { expect, test } from "vitest";
import { frictionAt } from "../../../src/shared/tune/grip-curve.ts";
import { formulaOf, gripAt, slopeAtOrigin } from "../../../src/shared/tune/grip-shape.ts";

const POINTS = [
  [Math.log(0.180194), 0, Math.log(1.80194), Math.log(0.03)],
  [Math.log(0.1), Math.log(1.2), Math.log(1.4), Math.log(0.8)],
  [Math.log(0.3), Math.log(0.5), Math.log(1.1), Math.log(2.5)],
] as const;

test("dry tarmac comes back as B 10, C 1.9, D 1, E 0.97; its slope at no slip is 19", () => {
  const { B, C, D, E } = formulaOf(POINTS[0]);
  expect(B).toBeCloseTo(10, 4);
  expect(C).toBeCloseTo(1.9, 4);
  expect(D).toBe(1);
  expect(E).toBeCloseTo(0.97, 9);
  expect(slopeAtOrigin({ B, C, D, E })).toBeCloseTo(19, 3);
});

test("the peak lies at best slip and is the peak friction, whatever the shape", () => {
  for (const point of POINTS) {
    const best = Math.exp(point[0]);
    const formula = formulaOf(point);
    expect(frictionAt(formula, best)).toBeCloseTo(Math.exp(point[1]), 12);
    expect(frictionAt(formula, best * 0.97)).toBeLessThan(Math.exp(point[1]));
    expect(frictionAt(formula, best * 1.03)).toBeLessThan(Math.exp(point[1]));
  }
});

test("value, slope and all four derivatives agree with central differences", () => {
  const by = new Float64Array(4);
  const scratch = new Float64Array(4);
  for (const point of POINTS) {
    for (const slip of [-0.03, 0.01, 0.05, 0.15, 0.4, 1]) {
      const { friction, slope } = gripAt(point, slip, by);
      expect(friction).toBeCloseTo(frictionAt(formulaOf(point), slip), 12);
      const at = (s: number) => gripAt(point, s, scratch).friction;
      expect(slope).toBeCloseTo((at(slip + 1e-5) - at(slip - 1e-5)) / 2e-5, 6);
      for (let j = 0; j < 4; j += 1) {
        const moved = (step: number) => point.map((value, k) => (k === j ? value + step : value));
        const difference = (gripAt(moved(1e-5), slip, scratch).friction - gripAt(moved(-1e-5), slip, scratch).friction) / 2e-5;
        expect(by[j]).toBeCloseTo(difference, 6);
      }
    }
  }
});
