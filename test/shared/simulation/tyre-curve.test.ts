/** The tyre curve against the table published for its coefficients ("Tire-Road Interaction (Magic Formula)", rows dry and wet). */
import { expect, test } from "vitest";
import { frictionAt, TYRE_CURVES } from "../../../src/shared/simulation/tyre-curve.ts";

const PUBLISHED = {
  dry: {
    peakAt: 0.1802,
    peak: 1,
    at: [
      [0.05, 0.735619338],
      [0.1, 0.955842103],
      [0.2, 0.999177736],
      [0.5, 0.959374724],
      [1, 0.914521958],
    ],
  },
  wet: {
    peakAt: 0.0882,
    peak: 0.82,
    at: [
      [0.05, 0.744926463],
      [0.1, 0.817116288],
      [0.2, 0.748314457],
      [0.5, 0.667457469],
      [1, 0.637174835],
    ],
  },
} as const;

for (const surface of ["dry", "wet"] as const) {
  test(`frictionAt() gives the published values on a ${surface} road, and their mirror image when braking`, () => {
    const curve = TYRE_CURVES[surface];
    for (const [slip, friction] of PUBLISHED[surface].at) {
      expect(frictionAt(curve, slip)).toBeCloseTo(friction, 8);
      expect(frictionAt(curve, -slip)).toBeCloseTo(-friction, 8);
    }
    expect(frictionAt(curve, PUBLISHED[surface].peakAt)).toBeCloseTo(PUBLISHED[surface].peak, 6);
  });
}
