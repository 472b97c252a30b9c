/** Medians and quantiles against published values: R's documentation of type 7 (Hyndman and Fan 1996) and NIST/SEMATECH's definition of the median. */
import { describe, expect, test } from "vitest";
import { median, quantile, SIGMA_PER_MAD, TWO_SIDED_95 } from "../../../src/shared/kernel/statistics.ts";

describe("statistics", () => {
  test("median() of an odd count is the middle value, of an even count the mean of the two middle ones (NIST/SEMATECH 1.3.5.1)", () => {
    expect(median([3, 1, 2])).toBe(2);
    expect(median([4, 1, 3, 2])).toBe(2.5);
  });

  test("quantile() of 1 ... 10 as R's type 7 gives it (computed by hand from Hyndman and Fan's formula: 1 + share x 9)", () => {
    const ten = [10, 3, 1, 2, 9, 8, 4, 7, 5, 6];
    for (const [share, value] of [
      [0, 1],
      [0.25, 3.25],
      [0.5, 5.5],
      [0.9, 9.1],
      [1, 10],
    ] as const)
      expect(quantile(ten, share)).toBeCloseTo(value, 12);
  });

  test("what is not finite is left out; nothing left is NaN; the input stays as it is", () => {
    const values = [Number.NaN, 5, Number.POSITIVE_INFINITY, 1];
    expect(median(values)).toBe(3);
    expect(values[1]).toBe(5);
    expect(median([])).toBeNaN();
    expect(median([Number.NaN])).toBeNaN();
  });

  test("the constants agree with each other: the quartile of the normal distribution is 0.674490 (Abramowitz and Stegun, table 26.5)", () => {
    expect(SIGMA_PER_MAD * 0.67449).toBeCloseTo(1, 4);
    expect(TWO_SIDED_95).toBeCloseTo(1.959964, 6);
  });
});
