/** Sources: docs/check-values.md, statistics (Rosetta Code "Permutation test", Efron and Tibshirani's mice, SciPy's documentation), Debian's SciPy, Phipson and Smyth 2010. */
import { describe, expect, test } from "vitest";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { combinations, permutationTest } from "../../../src/shared/judge/permutation.ts";
import { statistics } from "./reference.ts";
import { runScipy } from "./scipy.ts";

describe("permutationTest()", () => {
  test("gives the design's worked example: 2 of 70", () => {
    const result = permutationTest([5.0, 5.05, 5.11, 5.4], [4.35, 4.42, 4.46, 4.51]);
    expect(result).toEqual({ pTwoSided: 2 / 70, assignments: 70, extreme: 2, smallestPossibleP: 2 / 70, method: "exact" });
  });

  test.skipIf(!statistics)("equals the published worked examples", () => {
    let checked = 0;
    for (const example of statistics?.permutation_two_sample ?? []) {
      const result = permutationTest(example.x, example.y);
      expect(result.assignments, example.name).toBe(example.n_perm);
      // Only where the source counts |difference|: SciPy's documented two-sided p doubles one tail (docs/check-values.md, statistics).
      if (example.count_absdiff_ge === undefined) continue;
      expect(result.extreme, example.name).toBe(example.count_absdiff_ge);
      checked += 1;
    }
    expect(checked).toBe(3);
  });

  test.skipIf(!statistics)("reaches the published smallest p for groups of one size", () => {
    for (const [name, { n, two }] of Object.entries(statistics?.min_p ?? {})) {
      const [a, b] = name.split("v").map(Number) as [number, number];
      const result = permutationTest(
        Array.from({ length: a }, (_, i) => i),
        Array.from({ length: b }, (_, i) => 100 + i ** 1.5),
      );
      expect(result.assignments).toBe(n);
      // SciPy doubles the smaller side; |difference of means| does not where sizes differ.
      if (a === b) expect(result.smallestPossibleP).toBeCloseTo(two, 12);
      expect(result.pTwoSided).toBe(result.smallestPossibleP);
    }
  });

  test("equals SciPy on 60 random data sets, equal and unequal sizes, tied and not", () => {
    const random = createSeededRandom(8);
    const sets = Array.from({ length: 60 }, (_, i) => {
      const draw = (n: number, shift: number) =>
        Array.from(
          { length: n },
          () => Math.round((4.5 + shift + 0.2 * random.normal()) * (i % 3 === 0 ? 10 : 1000)) / (i % 3 === 0 ? 10 : 1000),
        );
      const size = 2 + random.below(6);
      return { a: draw(size, 0), b: draw(i % 2 === 0 ? size : 2 + random.below(6), 0.3 * random.next()) };
    });
    // SciPy's "two-sided" doubles the smaller tail; ours counts |difference|. Its counts use a tolerance of its own, so values are scaled to integers.
    const program = `
out = []
for s in data:
    x, y = [np.round(np.array(s[k]) * 1000) * len(s['a']) * len(s['b']) for k in 'ab']
    stat = lambda u, v, axis: np.abs(np.mean(u, axis=axis) - np.mean(v, axis=axis)).round(3)
    r = stats.permutation_test((x, y), stat, vectorized=True, n_resamples=np.inf, alternative='greater')
    out.append([r.pvalue, len(r.null_distribution)])
print(json.dumps(out))`;
    const answers = runScipy<[number, number][]>(program, sets);
    if (!answers) return;
    expect(answers).toHaveLength(60);
    sets.forEach(({ a, b }, i) => {
      const [p, count] = answers[i] as [number, number];
      const ours = permutationTest(a, b);
      expect(ours.assignments).toBe(count);
      expect(ours.pTwoSided, JSON.stringify({ a, b })).toBeCloseTo(p, 10);
    });
  });

  test("counts all 2,704,156 assignments of 12 and 12 as a plain listing does", () => {
    const random = createSeededRandom(12);
    const a = Array.from({ length: 12 }, () => random.below(50));
    const b = Array.from({ length: 12 }, () => random.below(50) + 9);
    const all = [...a, ...b];
    const total = all.reduce((sum, v) => sum + v, 0);
    const seen = Math.abs(2 * a.reduce((sum, v) => sum + v, 0) - total);
    // Ways to reach each sum with 12 of 24 integers: exact integer counts, no floats.
    const ways = Array.from({ length: 13 }, () => new Map<number, number>());
    ways[0]?.set(0, 1);
    for (const value of all) {
      for (let size = 11; size >= 0; size -= 1) {
        for (const [sum, count] of ways[size] ?? []) ways[size + 1]?.set(sum + value, (ways[size + 1]?.get(sum + value) ?? 0) + count);
      }
    }
    let extreme = 0;
    for (const [sum, count] of ways[12] ?? []) if (Math.abs(2 * sum - total) >= seen) extreme += count;
    const result = permutationTest(a, b);
    expect(result.assignments).toBe(2_704_156);
    expect(result.extreme).toBe(extreme);
  });

  test("a difference of nothing counts every assignment, although decimals round", () => {
    const values = [4.41, 4.43, 4.47, 4.49];
    expect(permutationTest(values, [...values].reverse()).pTwoSided).toBe(1);
  });

  test("samples beyond 40 values, says so, and never answers 0", () => {
    const a = Array.from({ length: 21 }, (_, i) => i / 100);
    const b = Array.from({ length: 21 }, (_, i) => 10 + i / 100);
    const result = permutationTest(a, b, 5);
    expect(result.method).toBe("sampled");
    expect(result.extreme).toBe(0);
    expect(result.pTwoSided).toBe(1 / 200_001);
    expect(
      permutationTest(
        a,
        b.map((v) => v - 10.02),
        5,
      ),
    ).toEqual(
      permutationTest(
        a,
        b.map((v) => v - 10.02),
        5,
      ),
    );
  });

  test("refuses an empty group", () => {
    expect(() => permutationTest([], [1])).toThrow(RangeError);
  });

  test("combinations() is exact: 24 over 12 and 40 over 20", () => {
    expect(combinations(24, 12)).toBe(2_704_156);
    expect(combinations(40, 20)).toBe(137_846_528_820);
  });
});
