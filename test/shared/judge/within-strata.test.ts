/** Sources: docs/check-values.md, statistics (R's ?wilcox.test, Hollander and Wolfe 1973; mice; R pwilcox tables), Lehmann 1975, Debian's SciPy. */
import { describe, expect, test } from "vitest";
import { combinations } from "../../../src/shared/judge/counting.ts";
import { normalCdf } from "../../../src/shared/judge/distributions.ts";
import { rankSumDistribution } from "../../../src/shared/judge/rank-sum.ts";
import { testWithinStrata } from "../../../src/shared/judge/within-strata.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { statistics } from "./reference.ts";
import { runScipy } from "./scipy.ts";

const hodgesLehmann = (a: readonly number[], b: readonly number[]) => {
  const { shift, tied, interval } = testWithinStrata([{ a, b }]);
  return { shift, ...interval(0.05), tied };
};

describe("testWithinStrata(), one stratum", () => {
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
      const ours = cumulate(rankSumDistribution([{ a: n, b: n }]));
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

/** Seconds with that order within each stratum: only the order counts. */
const ordered = (orders: readonly string[]) =>
  orders.map((order, stratum) => {
    const of = (group: string) => [...order].flatMap((letter, place) => (letter === group ? [stratum + place / 100] : []));
    return { a: of("a"), b: of("b") };
  });

describe("testWithinStrata(), several strata", () => {
  test("gives the blocked comparison of Lehmann (Nonparametrics, 1975, pages 132 to 141) as published: chi-square 2.744, P = 0.098", () => {
    // The order of the values in his four blocks; the statistic as SAS printed it for this example (van Elteren's test, modified ridits).
    const { z, pTwoSided, assignments } = testWithinStrata(ordered(["ab", "bab", "aab", "abaabb"]));
    expect((z ** 2).toFixed(3)).toBe("2.744");
    expect((2 * (1 - normalCdf(z))).toFixed(3)).toBe("0.098");
    // 2 x 3 x 3 x 20 ways to deal the labels; counted by hand of the four short lists: 40 stray as far.
    expect(assignments).toBe(360);
    expect(pTwoSided).toBe(40 / 360);
  });

  test("equals a plain listing with SciPy's ranks: chance, shift and every shift that is not refused, on 40 seasons", () => {
    const random = createSeededRandom(17);
    const seasons = Array.from({ length: 40 }, (_, i) =>
      Array.from({ length: 2 + (i % 2) }, (_, stratum) => {
        const draw = () => Math.round(1e4 * (5 + stratum + 0.1 * random.normal())) / 1e4;
        return { a: Array.from({ length: 1 + random.below(3) }, draw), b: Array.from({ length: 2 + random.below(3) }, draw) };
      }),
    );
    const program = `
import itertools
out = []
for season in data:
    sizes = [(len(s['a']), len(s['b'])) for s in season]
    def stat(shift):
        t = 0
        for s in season:
            a = np.array(s['a']); b = np.array(s['b']) - shift; m, n = len(a), len(b)
            r = stats.rankdata(np.r_[a, b])
            t += (r[m:].sum() - n * (n + 1) / 2 - m * n / 2) / (m + n + 1)
        return t
    null = np.zeros(1)
    for m, n in sizes:
        own = [(sum(c) + n - n * (n + 1) / 2 - m * n / 2) / (m + n + 1) for c in itertools.combinations(range(m + n), n)]
        null = (null[:, None] + np.array(own)[None, :]).ravel()
    p = lambda t: float((np.abs(null) >= abs(t) - 1e-9).mean())
    d = np.concatenate([(np.array(s['b'])[None, :] - np.array(s['a'])[:, None]).ravel() for s in season])
    w = np.concatenate([np.full(len(s['a']) * len(s['b']), 1 / (len(s['a']) + len(s['b']) + 1)) for s in season])
    o = np.argsort(d); d = d[o]; c = np.cumsum(w[o]); half = c[-1] / 2
    lower = d[np.searchsorted(c, half - 1e-9)]; upper = d[np.searchsorted(c, half + 1e-9)]
    between = (d[1:] + d[:-1]) / 2
    kept = [i for i, s in enumerate(between) if p(stat(s)) > 0.05]
    outside = p(stat(d[0] - 1)) > 0.05
    out.append([p(stat(0)), (lower + upper) / 2, None if outside else [d[kept[0]], d[kept[-1] + 1]], len(null)])
print(json.dumps(out))`;
    const answers = runScipy<[number, number, [number, number] | null, number][]>(program, seasons);
    if (!answers) return;
    let refused = 0;
    seasons.forEach((strata, i) => {
      const [p, shift, ends, ways] = answers[i] as (typeof answers)[0];
      const ours = testWithinStrata(strata);
      expect(ours.pTwoSided, JSON.stringify(strata)).toBeCloseTo(p, 12);
      expect(ours.assignments).toBe(ways);
      expect(ours.shift, JSON.stringify(strata)).toBeCloseTo(shift, 8);
      if (ends === null) return;
      refused += 1;
      const { low, high } = ours.interval(0.05);
      expect(low).toBeCloseTo(ends[0], 8);
      expect(high).toBeCloseTo(ends[1], 8);
    });
    expect(refused).toBeGreaterThan(10);
  });

  test("draws where it cannot count, from a seed, never answers 0, and agrees with the count", () => {
    const random = createSeededRandom(5);
    // 16 strata of unlike sizes: more sums than can be listed.
    const unlike = Array.from({ length: 16 }, (_, i) => ({
      a: Array.from({ length: 8 + i }, () => random.normal()),
      b: Array.from({ length: 8 }, () => random.normal() + 0.25),
    }));
    const sampled = testWithinStrata(unlike);
    expect(sampled.method).toBe("sampled");
    expect(sampled.pTwoSided).toBe((sampled.extreme + 1) / (sampled.assignments + 1));
    // The sum of many strata is near to normal: the large-sample chance is an outside check of the draw.
    expect(sampled.pTwoSided).toBeCloseTo(2 * (1 - normalCdf(sampled.z)), 2);
    expect(testWithinStrata(unlike).pTwoSided).toBe(sampled.pTwoSided);
    const apart = testWithinStrata(unlike.map(({ a, b }) => ({ a, b: b.map((value) => value + 100) })));
    expect(apart.extreme).toBe(0);
    expect(apart.pTwoSided).toBe(1 / 100_001);
  });

  test("deals out the ranks of strata too large for tables, near the large-sample chance", () => {
    const random = createSeededRandom(6);
    const draw = (n: number, shift: number) => Array.from({ length: n }, () => random.normal() + shift);
    const { method, pTwoSided, z } = testWithinStrata([{ a: draw(300, 0), b: draw(250, 0.12) }]);
    expect(method).toBe("sampled");
    expect(pTwoSided).toBeCloseTo(2 * (1 - normalCdf(z)), 1);
  });

  test("refuses a stratum without both groups", () => {
    expect(() => testWithinStrata([{ a: [], b: [1] }])).toThrow(RangeError);
    expect(() => testWithinStrata([])).toThrow(RangeError);
  });

  test("combinations() is exact: 24 over 12 and 40 over 20", () => {
    expect(combinations(24, 12)).toBe(2_704_156);
    expect(combinations(40, 20)).toBe(137_846_528_820);
  });
});
