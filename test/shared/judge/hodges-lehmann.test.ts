/** Sources: docs/check-values.md, statistics (R's ?wilcox.test, Hollander and Wolfe 1973; mice; R pwilcox tables), Debian's SciPy. */
import { describe, expect, test } from "vitest";
import { hodgesLehmann, rankSumDistribution } from "../../../src/shared/judge/hodges-lehmann.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { statistics } from "./reference.ts";
import { runScipy } from "./scipy.ts";

describe("hodgesLehmann()", () => {
  test("gives the design's worked example to the digit", () => {
    const result = hodgesLehmann([5.0, 5.05, 5.11, 5.4], [4.35, 4.42, 4.46, 4.51]);
    expect(result).toEqual({ shift: -0.65, low: -1.05, high: -0.49, coverage: 1 - 2 / 70, tied: false });
    expect(result.coverage.toFixed(3)).toBe("0.971");
  });

  test("gives the look's six and six: -0.63, -0.89 to -0.54 at 0.959", () => {
    const result = hodgesLehmann([5.0, 5.05, 5.08, 5.02, 5.11, 5.4], [4.35, 4.4, 4.46, 4.42, 4.48, 4.51]);
    expect([result.shift, result.low, result.high]).toEqual([-0.63, -0.89, -0.54]);
    expect(result.coverage.toFixed(3)).toBe("0.959");
  });

  test.skipIf(!statistics)("equals R's published shift and 95 % interval", () => {
    let checked = 0;
    for (const example of statistics?.mann_whitney ?? []) {
      if (example.hodges_lehmann === undefined || !example.R_ci95) continue;
      const mice = statistics?.permutation_two_sample.find((set) => set.name.includes("mouse"));
      const x = example.x ?? mice?.x ?? [];
      const y = example.y ?? mice?.y ?? [];
      // R shifts x against y.
      const result = hodgesLehmann(y, x);
      expect(result.shift, example.name).toBeCloseTo(example.hodges_lehmann, 9);
      expect([result.low, result.high], example.name).toEqual(example.R_ci95);
      expect(result.coverage).toBeGreaterThanOrEqual(0.95);
      checked += 1;
    }
    expect(checked).toBe(2);
  });

  test.skipIf(!statistics)("equals R's rank-sum tables", () => {
    const cumulate = (shares: Float64Array) => Array.from(shares).map((_, i, all) => all.slice(0, i + 1).reduce((s, v) => s + v, 0));
    const tables = [
      [4, statistics?.["pwilcox_4_4_cdf_U0..16"]],
      [3, statistics?.["pwilcox_3_3_cdf_U0..9"]],
    ] as const;
    for (const [n, table] of tables) {
      const ours = cumulate(rankSumDistribution(n, n));
      expect(ours).toHaveLength(table?.length ?? 0);
      table?.forEach((share, u) => {
        expect(ours[u]).toBeCloseTo(share, 10);
      });
    }
  });

  test("equals SciPy's exact Mann-Whitney chances and a plain median of differences on 60 data sets", () => {
    const random = createSeededRandom(88);
    const sets = Array.from({ length: 60 }, (_, i) => {
      const draw = (n: number) => Array.from({ length: n }, () => Math.round(1e6 * (5 + random.normal())) / 1e6);
      const size = 2 + random.below(11);
      return { a: draw(size), b: draw(i % 2 === 0 ? size : 2 + random.below(11)) };
    });
    // SciPy: P(U <= u) from its own exact tables; the interval follows from them by definition.
    const program = `
out = []
for s in data:
    x, y = np.array(s['a']), np.array(s['b'])
    d = np.sort((y[None, :] - x[:, None]).ravel()); N = len(d)
    def tail(u):
        # arrangement with U = u exactly: y ranks chosen greedily
        m, n = len(x), len(y); ys = list(range(n)); left = u
        for j in range(n - 1, -1, -1):
            step = min(m, left); ys[j] += step; left -= step
        xs = [r for r in range(m + n) if r not in ys]
        return stats.mannwhitneyu(ys, xs, alternative='less', method='exact').pvalue
    k = 1; below = tail(0)
    while k * 2 < N:
        nxt = tail(k)
        if 1 - 2 * nxt < 0.95: break
        below = nxt; k += 1
    out.append([float(np.median(d)), float(d[k - 1]), float(d[N - k]), 1 - 2 * below])
print(json.dumps(out))`;
    const answers = runScipy<[number, number, number, number][]>(program, sets);
    if (!answers) return;
    sets.forEach(({ a, b }, i) => {
      const [shift, low, high, coverage] = answers[i] as [number, number, number, number];
      const ours = hodgesLehmann(a, b);
      expect(ours.shift).toBeCloseTo(shift, 8);
      expect(ours.low, JSON.stringify({ a, b })).toBeCloseTo(low, 8);
      expect(ours.high).toBeCloseTo(high, 8);
      expect(ours.coverage).toBeCloseTo(Math.max(0, coverage), 9);
    });
  });

  test("states the coverage that too small groups have, not the one wanted", () => {
    expect(hodgesLehmann([5.21, 5.34, 5.28], [5.02, 5.11, 5.25]).coverage).toBeCloseTo(0.9, 12);
  });

  test("covers at least what it states when times are coarse and tie", () => {
    const random = createSeededRandom(3);
    let inside = 0;
    const days = 4000;
    let stated = 0;
    for (let day = 0; day < days; day += 1) {
      const draw = (shift: number) => Array.from({ length: 6 }, () => Math.round((shift + random.normal() * 0.1) * 10) / 10);
      const result = hodgesLehmann(draw(5), draw(4.5));
      stated = result.coverage;
      if (result.low <= -0.5 + 1e-9 && result.high >= -0.5 - 1e-9) inside += 1;
    }
    expect(inside / days).toBeGreaterThanOrEqual(stated);
  });
});
