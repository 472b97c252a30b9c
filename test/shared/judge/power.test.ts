/** Sources: SciPy's t, chi-square, normal and noncentral t distributions. */
import { describe, expect, test } from "vitest";
import { chiSquareQuantile, normalCdf, studentCdf, studentQuantile } from "../../../src/shared/judge/distributions.ts";
import { findableDifference, pooledScatter, powerOf, runsNeeded, scatterInterval } from "../../../src/shared/judge/power.ts";
import { runScipy } from "./scipy.ts";

describe("distributions", () => {
  const degrees = [1, 2, 3, 5, 9, 22, 100];
  const shares = [0.025, 0.2, 0.5, 0.8, 0.975, 0.999];
  const points = [-8, -2.5, -0.3, 0, 0.7, 1.96, 6];

  test("equal SciPy's to 1e-8", () => {
    const program = `
d, s, x = data['d'], data['s'], data['x']
print(json.dumps([[[stats.t.ppf(q, n), stats.chi2.ppf(q, n)] for n in d for q in s], [stats.norm.cdf(v) for v in x], [stats.t.cdf(v, n) for n in d for v in x]]))`;
    const expected = runScipy<[[number, number][], number[], number[]]>(program, { d: degrees, s: shares, x: points });
    if (!expected) return;
    degrees.forEach((n, i) => {
      shares.forEach((share, j) => {
        const [t, chi] = expected[0][i * shares.length + j] as [number, number];
        expect(Math.abs(studentQuantile(share, n) - t)).toBeLessThan(1e-8 * Math.max(1, Math.abs(t)));
        expect(chiSquareQuantile(share, n) / chi).toBeCloseTo(1, 8);
      });
      points.forEach((x, j) => {
        expect(studentCdf(x, n)).toBeCloseTo(expected[2][i * points.length + j], 10);
      });
    });
    points.forEach((x, j) => {
      expect(normalCdf(x)).toBeCloseTo(expected[1][j], 10);
    });
  });

  test("refuse what has no answer", () => {
    expect(() => studentQuantile(1, 4)).toThrow(RangeError);
    expect(() => studentCdf(1, 0)).toThrow(RangeError);
    expect(() => chiSquareQuantile(0, 4)).toThrow(RangeError);
  });
});

describe("power", () => {
  test("equals SciPy's noncentral t at the level the plan can reach", () => {
    const cases = [
      { n: 6, directions: 2, effect: 1.8, level: 20 / 400 },
      { n: 6, directions: 1, effect: 1.2, level: 46 / 924 },
      { n: 4, directions: 1, effect: 2.5, level: 2 / 70 },
      { n: 10, directions: 2, effect: 1, level: (2 * Math.floor(0.025 * 252 ** 2)) / 252 ** 2 },
    ] as const;
    const program = `
out = []
for c in data:
    df = 2 * c['n'] - 1 - c['directions']; nc = c['effect'] * (c['n'] / 2) ** .5; t = stats.t.ppf(1 - c['level'] / 2, df)
    out.append(float(stats.nct.sf(t, df, nc) + stats.nct.cdf(-t, df, nc)))
print(json.dumps(out))`;
    const expected = runScipy<number[]>(program, cases);
    if (!expected) return;
    cases.forEach(({ n, directions, effect }, i) => {
      expect(powerOf(effect, n, directions)).toBeCloseTo(expected[i], 4);
    });
  });

  test("four and four in two directions can never find anything at 5 %: 2 of 36 is more", () => {
    expect(findableDifference(4, 2)).toBeNull();
    expect(powerOf(50, 3, 1)).toBe(0);
    expect(powerOf(findableDifference(6, 2) as number, 6, 2)).toBeCloseTo(0.8, 3);
  });

  test("runsNeeded() grows with the scatter and gives the range its uncertainty leaves", () => {
    const scatter = pooledScatter([[5.0, 5.1, 5.2], [4.5, 4.6], [4.4]]);
    expect(scatter).toEqual({ seconds: expect.closeTo(Math.sqrt((0.02 + 0.005) / 3), 12), degrees: 3 });
    const needed = runsNeeded(-0.15, { seconds: 0.1, degrees: 10 }, 2);
    expect(needed.from).toBeLessThan(needed.runsPerGroup as number);
    expect(needed.to).toBeGreaterThan(needed.runsPerGroup as number);
    expect(powerOf(1.5, needed.runsPerGroup as number, 2)).toBeGreaterThanOrEqual(0.8);
    expect(runsNeeded(0.001, { seconds: 0.1, degrees: 10 }, 2).runsPerGroup).toBeNull();
    expect(() => runsNeeded(0, { seconds: 0.1, degrees: 10 }, 2)).toThrow(RangeError);
    expect(pooledScatter([[4.4], []])).toBeNull();
  });

  test("scatterInterval() is the chi-square interval: 0.699 to 1.755 of the estimate at 10 degrees (printed tables, from memory)", () => {
    const { low, high } = scatterInterval({ seconds: 1, degrees: 10 });
    expect(low).toBeCloseTo(0.699, 3);
    expect(high).toBeCloseTo(1.755, 3);
  });
});
