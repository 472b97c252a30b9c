/** Sums up errors and intervals over many cases, with the bands that chance allows. An empty tally gives NaN, never 0. */

/** One figure of one case: what was claimed and what was true. */
export interface Outcome {
  readonly error: number;
  readonly plusMinus95: number;
}

export interface Summary {
  readonly n: number;
  readonly rms: number;
  readonly bias: number;
  /** Share of cases whose interval holds the truth. */
  readonly coverage: number;
  /** Mean half width. */
  readonly width: number;
  readonly worst: number;
}

export function summarise(outcomes: readonly Outcome[]): Summary {
  const n = outcomes.length;
  const mean = (f: (o: Outcome) => number): number => outcomes.reduce((sum, o) => sum + f(o), 0) / n;
  return {
    n,
    rms: Math.sqrt(mean((o) => o.error ** 2)),
    bias: mean((o) => o.error),
    coverage: mean((o) => (Math.abs(o.error) <= o.plusMinus95 ? 1 : 0)),
    width: mean((o) => o.plusMinus95),
    worst: outcomes.reduce((most, o) => Math.max(most, Math.abs(o.error)), 0),
  };
}

/** P(X <= k) of a binomial, by summing logarithms. */
export function binomialBelow(k: number, n: number, p: number): number {
  let logTerm = n * Math.log1p(-p);
  let sum = Math.exp(logTerm);
  for (let i = 1; i <= k; i += 1) {
    logTerm += Math.log((n - i + 1) / i) + Math.log(p / (1 - p));
    sum += Math.exp(logTerm);
  }
  return Math.min(1, sum);
}

/** Exact (Clopper-Pearson) 95 % band of a share seen `k` times in `n`, by bisection on the binomial. */
export function shareBand(k: number, n: number): readonly [number, number] {
  const solve = (above: (p: number) => boolean): number => {
    let [low, high] = [1e-9, 1 - 1e-9];
    for (let i = 0; i < 60; i += 1) {
      const middle = (low + high) / 2;
      if (above(middle)) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
  const low = k === 0 ? 0 : solve((p) => 1 - binomialBelow(k - 1, n, p) < 0.025);
  const high = k === n ? 1 : solve((p) => binomialBelow(k, n, p) > 0.025);
  return [low, high];
}

/**
 * Least number of covering intervals in `n` cases that 90 % true coverage still gives with a probability above `alpha`. The promise is 90
 * to 99 %; fewer than this disproves it. Intervals that are too wide show as n of n; at 99 % that is common for small n.
 */
export function leastCovered(n: number, alpha: number): number {
  let k = 0;
  while (binomialBelow(k, n, 0.9) < alpha) k += 1;
  return k;
}

/**
 * Largest RMS of n normal errors that a true RMS of `claim` gives, except with a probability of alpha = 0.0013: chi-square by
 * Wilson-Hilferty, z = 3.
 */
export function mostRms(claim: number, n: number): number {
  const a = 2 / (9 * n);
  return claim * Math.sqrt((1 - a + 3 * Math.sqrt(a)) ** 3);
}

/** Mean square of error over claimed standard deviation: 1 for honest intervals, 0.58 where they cover 99 %, 1.42 where 90 %. */
export function spreadOf(outcomes: readonly Outcome[]): number {
  return outcomes.reduce((sum, o) => sum + ((1.959964 * o.error) / o.plusMinus95) ** 2, 0) / outcomes.length;
}

/** Least spread that intervals covering 99 % (2.576 sigma wide) give in 999 of 1,000 runs: chi-square by Wilson-Hilferty. */
export function leastSpread(n: number): number {
  const a = 2 / (9 * n);
  return (1.959964 / 2.575829) ** 2 * (1 - a - 3.0902 * Math.sqrt(a)) ** 3;
}
