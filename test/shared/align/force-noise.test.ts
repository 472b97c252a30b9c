// Whitening of receiver noise on a wandering slope against its full covariance matrix, written out in closed form.
import { describe, expect, test } from "vitest";
import { createForceWhitener } from "../../../src/shared/align/force-noise.ts";
import { choleskyOf, solveLower } from "../../../src/shared/kernel/cholesky.ts";
import { random } from "./gentle-drive.ts";

/** Integral from 0 of an Ornstein-Uhlenbeck process of unit variance: covariance at two times (Gillespie, Phys. Rev. E 54, 2084, 1996). */
const integrated = (a: number, b: number, time: number): number => {
  const [t, u] = [Math.min(a, b), Math.max(a, b)];
  return time * (2 * t - time + time * (Math.exp(-t / time) + Math.exp(-u / time) - Math.exp((t - u) / time)));
};

describe("createForceWhitener()", () => {
  test.each([
    { ratio: 0, correlationS: 1, slopePerS: 0.3 },
    { ratio: 10, correlationS: 0.4, slopePerS: 3 },
  ])("gives the determinant and the quadratic form of the full covariance: $ratio, $slopePerS", (shape) => {
    const { normal, uniform } = random(4);
    const tS = Array.from({ length: 50 }, (_, i) => i * 0.1 + 0.03 * uniform() + (i > 29 ? 2 : 0));
    const stretch = tS.map((_, i) => (i > 29 ? 1 : 0));
    const firstS = [tS[0], tS[30]];
    const n = tS.length;
    const matrix = new Float64Array(n * n);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        const together = stretch[i] === stretch[j];
        // 1e6 and 5 s are the unknown first speed and the slope's time of force-noise.ts.
        const from = firstS[stretch[i]];
        const road = together ? 1e6 + shape.slopePerS ** 2 * integrated(tS[i] - from, tS[j] - from, 5) : 0;
        matrix[i * n + j] = road + shape.ratio * Math.exp(-Math.abs(tS[i] - tS[j]) / shape.correlationS) + (i === j ? 1 : 0);
      }
    const lower = choleskyOf(matrix, n) ?? new Float64Array();
    const x = Float64Array.from(tS, () => normal());
    const expected = solveLower(lower, n, x).reduce((sum, value) => sum + value * value, 0);
    const logDet = Array.from({ length: n }, (_, i) => 2 * Math.log(lower[i * n + i])).reduce((sum, value) => sum + value, 0);
    const whitener = createForceWhitener(tS, stretch, shape);
    const column = Float64Array.from(x);
    whitener.whiten(column);
    // An unknown first speed of 1e6 costs the dense matrix six digits.
    expect(whitener.logDeterminant).toBeCloseTo(logDet, 6);
    expect(column.reduce((sum, value) => sum + value * value, 0)).toBeCloseTo(expected, 5);
  });

  test("takes no information on speed from a stretch's first epoch", () => {
    const whitener = createForceWhitener([0, 0.1, 9, 9.1], [0, 0, 1, 1], { ratio: 0, correlationS: 1, slopePerS: 0.1 });
    const column = Float64Array.of(5, 5, -7, -7);
    whitener.whiten(column);
    for (const value of column) expect(Math.abs(value)).toBeLessThan(0.01);
  });
});
