/**
 * Collects friction rows in narrow bins of slip, run by run: samples of one run are not independent, and a fit over bins takes a hundredth
 * of the time. Empty bins are left out.
 */
import type { FrictionRows } from "./friction-rows.ts";

/** One run's bins, in order of slip. */
export interface FrictionBins {
  readonly run: number;
  /** Number of the bin; it means the same slip in every run. */
  readonly bin: readonly number[];
  readonly slip: Float64Array;
  readonly slipSigma: Float64Array;
  readonly friction: Float64Array;
  /** Standard deviation of the mean, from that of the rows. */
  readonly frictionSigma: Float64Array;
  readonly samples: Float64Array;
}

const LEAST_STEP = 0.0025;
const GROWTH = 0.08;
/** The least and largest slip that say something about a curve with its best slip between 3 and 40 %. */
const LEAST_SLIP = -0.01;
const MOST_SLIP = 1.2;
/** Rows of one run are correlated: this many count as one. */
const ROWS_TOGETHER = 10;

/** Lower limit of each bin: even steps near 0, then growing with slip. */
const EDGES: readonly number[] = (() => {
  const edges = [LEAST_SLIP];
  for (let at = LEAST_SLIP; at < MOST_SLIP; ) {
    at += Math.max(LEAST_STEP, GROWTH * at);
    edges.push(at);
  }
  return edges;
})();

function binOf(slip: number): number {
  if (!(slip >= LEAST_SLIP && slip < MOST_SLIP)) return -1;
  let low = 0;
  let high = EDGES.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (EDGES[middle] <= slip) low = middle;
    else high = middle;
  }
  return low;
}

/** Means by bin. Rows are weighted by the uncertainty of their friction and of their slip, the latter at roughly the curve's own slope. */
export function frictionBins(rows: FrictionRows): FrictionBins {
  const count = EDGES.length;
  const [weight, slip, friction, slipSigma, sigma, samples] = Array.from({ length: 6 }, () => new Float64Array(count));
  for (let i = 0; i < rows.slip.length; i += 1) {
    const bin = binOf(rows.slip[i]);
    if (bin < 0) continue;
    const slope = typicalSlope(rows.slip[i]);
    const variance = rows.frictionSigma[i] ** 2 + (slope * rows.slipSigma[i]) ** 2;
    const w = 1 / variance;
    weight[bin] += w;
    slip[bin] += w * rows.slip[i];
    friction[bin] += w * rows.friction[i];
    slipSigma[bin] += w * rows.slipSigma[i] ** 2;
    sigma[bin] += w * rows.frictionSigma[i] ** 2;
    samples[bin] += 1;
  }
  const filled = Array.from({ length: count }, (_, bin) => bin).filter((bin) => samples[bin] > 0);
  const pick = (value: (bin: number) => number) => Float64Array.from(filled, value);
  const independent = (bin: number) => Math.max(1, samples[bin] / ROWS_TOGETHER);
  return {
    run: rows.run,
    bin: filled,
    slip: pick((bin) => slip[bin] / weight[bin]),
    friction: pick((bin) => friction[bin] / weight[bin]),
    slipSigma: pick((bin) => Math.sqrt(slipSigma[bin] / weight[bin] / independent(bin))),
    frictionSigma: pick((bin) => Math.sqrt(sigma[bin] / weight[bin] / independent(bin))),
    samples: pick((bin) => samples[bin]),
  };
}

/** Slope of a road tyre's curve before one is fitted: steep at the origin, nearly flat beyond the best slip. */
const typicalSlope = (slip: number) => 18 / (1 + (Math.abs(slip) / 0.06) ** 2) + 0.5;
