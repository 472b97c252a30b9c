/** The rank-sum distribution without ties, alone or over several strata of one size. Sizes that are none throw RangeError. */

export interface StratumSize {
  readonly a: number;
  readonly b: number;
}

const stepsOf = ({ a, b }: StratumSize) => Math.min(a, b);
export const pairsOf = ({ a, b }: StratumSize) => a * b;

/** How many additions `rankSumDistribution` costs: what decides whether a distribution is counted or drawn from. */
export function rankSumCost(strata: readonly StratumSize[]): number {
  const size = strata.reduce((sum, stratum) => sum + pairsOf(stratum), 1);
  return 2 * size * strata.reduce((sum, stratum) => sum + stepsOf(stratum), 0);
}

/**
 * P(U = u) for u = 0 .. sum of a b, where U counts over all strata the pairs whose b is the greater (recurrence of Mann and Whitney 1947).
 * Only the rising half is worked out, then mirrored: on the falling one the differences would be lost in rounding.
 */
export function rankSumDistribution(strata: readonly StratumSize[]): Float64Array {
  const share = new Float64Array(strata.reduce((sum, stratum) => sum + pairsOf(stratum), 1));
  share[0] = 1;
  let before = 0;
  for (const stratum of strata) {
    const most = Math.max(stratum.a, stratum.b);
    // Counts of partitions into at most `steps` parts of at most `most` each: product of (1 - x^(most+i)) / (1 - x^i).
    for (let i = 1; i <= stepsOf(stratum); i += 1) {
      const step = most + i;
      const degree = before + most * i;
      const half = degree >> 1;
      for (let u = half; u >= step; u -= 1) share[u] = share[u] - share[u - step];
      for (let u = i; u <= half; u += 1) share[u] = share[u] + share[u - i];
      // Scaled at each step by i / (most + i), so the end result sums to 1 and nothing overflows.
      for (let u = 0; u <= half; u += 1) share[u] = (share[u] * i) / step;
      for (let u = half + 1; u <= degree; u += 1) share[u] = share[degree - u];
    }
    before += pairsOf(stratum);
  }
  return share;
}
