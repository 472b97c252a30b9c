/**
 * Hodges-Lehmann shift (b - a) with the exact interval of the rank-sum distribution and its true coverage.
 * With ties the closed interval covers at least what is stated (Noether 1967); `tied` says so.
 */
import { median } from "../kernel/statistics.ts";

export interface ShiftEstimate {
  readonly shift: number;
  readonly low: number;
  readonly high: number;
  /** 1 - 2 P(U < rank), without ties; a lower bound with them. */
  readonly coverage: number;
  readonly tied: boolean;
}

/** Rounding of subtracted decimals (5.40 - 4.35) must not show: times are known to far less than a nanosecond. */
export function tidy(value: number): number {
  return Math.round(value * 1e9) / 1e9;
}

/** P(U = u) for u = 0 .. m n of the rank-sum statistic without ties (recurrence of Mann and Whitney 1947). */
export function rankSumDistribution(m: number, n: number): Float64Array {
  // Counts of partitions into at most m parts of at most n each: product of (1 - x^(n+i)) / (1 - x^i).
  const size = m * n + 1;
  const share = new Float64Array(size);
  share[0] = 1;
  for (let i = 1; i <= m; i += 1) {
    const step = n + i;
    for (let u = size - 1; u >= step; u -= 1) share[u] = share[u] - share[u - step];
    for (let u = i; u < size; u += 1) share[u] = share[u] + share[u - i];
    // Scaled at each step by i / (n + i), so the end result sums to 1 and nothing overflows.
    for (let u = 0; u < size; u += 1) share[u] = (share[u] * i) / step;
  }
  return share;
}

/**
 * Estimates the shift of b against a. The interval is the narrowest of rank form whose coverage is at least
 * `wanted`; where the groups are too small for that, the widest there is, with the lesser coverage it has.
 */
export function hodgesLehmann(a: readonly number[], b: readonly number[], wanted = 0.95): ShiftEstimate {
  if (a.length === 0 || b.length === 0) throw new RangeError(`Expected at least one value a group, got ${a.length} and ${b.length}`);
  const differences = Float64Array.from(a.flatMap((x) => b.map((y) => y - x))).sort();
  const chances = rankSumDistribution(a.length, b.length);
  let below = chances[0];
  let rank = 1;
  for (;;) {
    const next = below + chances[rank];
    if (rank * 2 >= differences.length || 1 - 2 * next < wanted) break;
    below = next;
    rank += 1;
  }
  return {
    shift: tidy(median(differences)),
    low: tidy(differences[rank - 1] as number),
    high: tidy(differences[differences.length - rank] as number),
    coverage: Math.max(0, 1 - 2 * below),
    tied: new Set([...a, ...b].map(tidy)).size < a.length + b.length,
  };
}
