/** Source: Magic Formula coefficients published for four road surfaces ("Tire-Road Interaction (Magic Formula)"), with their values (docs/check-values.md, slip and tyre). */
import { expect, test } from "vitest";
import { frictionAt } from "../../../src/shared/tune/grip-curve.ts";

const PUBLISHED = [
  {
    surface: "dry",
    formula: { B: 10, C: 1.9, D: 1, E: 0.97 },
    at: [
      [0.05, 0.735619338],
      [0.1, 0.955842103],
      [1, 0.914521958],
    ],
  },
  {
    surface: "wet",
    formula: { B: 12, C: 2.3, D: 0.82, E: 1 },
    at: [
      [0.05, 0.744926463],
      [0.1, 0.817116288],
      [1, 0.637174835],
    ],
  },
  {
    surface: "snow",
    formula: { B: 5, C: 2, D: 0.3, E: 1 },
    at: [
      [0.05, 0.138665265],
      [0.1, 0.228967604],
      [1, 0.285507584],
    ],
  },
  {
    surface: "ice",
    formula: { B: 4, C: 2, D: 0.1, E: 1 },
    at: [
      [0.05, 0.0379985],
      [0.1, 0.066476473],
      [1, 0.096150648],
    ],
  },
] as const;

for (const { surface, formula, at } of PUBLISHED) {
  test(`frictionAt() gives the published values on ${surface}, mirrored when braking`, () => {
    for (const [slip, friction] of at) {
      expect(frictionAt(formula, slip)).toBeCloseTo(friction, 8);
      expect(frictionAt(formula, -slip)).toBeCloseTo(-friction, 8);
    }
  });
}
