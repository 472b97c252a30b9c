/** Checks the claims' own arithmetic against published values: an error here would change every figure. */
import { expect, test } from "vitest";
import { calibrationBound, launchBound } from "../../claims/bound.ts";
import { covarianceOf, information, whiten } from "../../claims/information.ts";
import { binomialBelow, leastCovered, mostRms, shareBand, summarise } from "../../claims/tally.ts";
import { drawRecipe } from "../../support/second-car/recipe.ts";
import { recordDrive } from "../../support/second-car/second-car.ts";

test("shareBand() is the exact binomial interval: 0 of 10 gives 0.3085 (1 - 0.025^(1/10)), 5 of 10 gives 0.1871 to 0.8129 (Clopper and Pearson 1934)", () => {
  expect(shareBand(0, 10)[1]).toBeCloseTo(1 - 0.025 ** 0.1, 6);
  expect(shareBand(5, 10)[0]).toBeCloseTo(0.1871, 4);
  expect(shareBand(5, 10)[1]).toBeCloseTo(0.8129, 4);
});

test("binomialBelow() sums exactly: 10 fair coins, at most 3 heads, 176 of 1024", () => {
  expect(binomialBelow(3, 10, 0.5)).toBeCloseTo(176 / 1024, 12);
  expect(binomialBelow(leastCovered(40, 0.001) - 1, 40, 0.9)).toBeLessThan(0.001);
});

test("mostRms() is the chi-square limit: n = 40, 0.99865 quantile 73.4 (tables: 0.999 quantile 73.402, 0.995 quantile 66.766)", () => {
  const quantile = 40 * mostRms(1, 40) ** 2;
  expect(quantile).toBeGreaterThan(66.766);
  expect(quantile).toBeLessThan(73.402);
});

test("summarise() of 3 and 4 has root mean square sqrt(12.5)", () => {
  expect(
    summarise([
      { error: 3, plusMinus95: 3.5 },
      { error: -4, plusMinus95: 3.5 },
    ]),
  ).toMatchObject({ rms: Math.sqrt(12.5), coverage: 0.5, worst: 4, bias: -0.5 });
});

test("whiten() gives the variance of a mean under AR(1): sigma^2 (1 + rho) / (n (1 - rho)) for long series", () => {
  const n = 4000;
  const rho = Math.exp(-0.1 / 0.5);
  const tS = Array.from({ length: n }, (_, i) => i * 0.1);
  const noise = { whiteMps: 1e-6, correlatedMps: 0.03, correlationS: 0.5 };
  const variance = covarianceOf(information(1, [{ tS, columns: [new Float64Array(n).fill(1)], noise }], new Float64Array(1)), 1)[0];
  // The best linear estimate of a mean is at least as good as the plain average, and nearly equal to it except at the ends.
  expect(variance / ((0.0009 * (1 + rho)) / (n * (1 - rho)))).toBeCloseTo(1, 2);
});

test("whiten() of white noise divides by its standard deviation", () => {
  expect(Array.from(whiten([0, 1, 5], [Float64Array.of(1, 2, 3)], { whiteMps: 0.5, correlatedMps: 0, correlationS: 0 })[0])).toEqual([
    2, 4, 6,
  ]);
});

test("calibrationBound() with undriven wheels is sigma / sqrt(sum a^2) for white noise, radius apart", () => {
  const drive = recordDrive(drawRecipe(5, { undriven: true, correlated: false, launches: 0 }));
  const span = drive.trace.phases[1];
  let sum = 0;
  for (let t = span.fromS + 1; t < span.toS; t += 0.1) {
    const v = (x: number) => drive.trace.speedMps[Math.round(x * 1000)];
    if (v(t) > 4) sum += ((v(t + 0.02) - v(t - 0.02)) / 0.04) ** 2;
  }
  expect(calibrationBound(drive).delayS / (0.03 / Math.sqrt(sum))).toBeCloseTo(1, 1);
});

test("launchBound() never grows with another source", () => {
  const drive = recordDrive(drawRecipe(6, { correlated: false, control: true }));
  const bound = (undriven: boolean, torque: boolean, motorSpeed: boolean) =>
    launchBound(drive, drive.truth.launches[0], { undriven, torque, motorSpeed });
  const alone = bound(false, false, false);
  expect(bound(true, false, false)).toBeLessThan(alone);
  expect(bound(false, true, false)).toBeLessThan(alone);
  expect(bound(true, true, true)).toBeLessThan(Math.min(bound(true, false, false), bound(false, true, false)));
});
