/** The measured curve: mean friction of all runs in each bin of slip, with its 95 % band. Empty bins are left out. */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import type { FrictionBins } from "./friction-bins.ts";
import type { GripPoint } from "./grip-curve.ts";

/** Fewer rows than this are an instant, not a point of a curve. */
const LEAST_SAMPLES = 5;
const LEAST_SIGMA_SHARE = 0.003;

/** Points in order of slip; `share95` widens every band by the uncertainty of the load. */
export function gripPoints(runs: readonly FrictionBins[], share95: number): GripPoint[] {
  const byBin = new Map<number, { slip: number; friction: number; sigma: number; samples: number }[]>();
  for (const run of runs) {
    run.bin.forEach((bin, i) => {
      const one = { slip: run.slip[i], friction: run.friction[i], sigma: run.frictionSigma[i], samples: run.samples[i] };
      const others = byBin.get(bin);
      if (others) others.push(one);
      else byBin.set(bin, [one]);
    });
  }
  return [...byBin]
    .sort((a, b) => a[0] - b[0])
    .flatMap(([, ones]) => {
      const samples = ones.reduce((sum, one) => sum + one.samples, 0);
      if (samples < LEAST_SAMPLES) return [];
      const mean = (of: (one: (typeof ones)[number]) => number) => ones.reduce((sum, one) => sum + one.samples * of(one), 0) / samples;
      const friction = mean((one) => one.friction);
      const n = ones.length;
      const between = n < 2 ? 0 : Math.sqrt(ones.reduce((sum, one) => sum + (one.friction - friction) ** 2, 0) / (n - 1) / n);
      const own = Math.sqrt(ones.reduce((sum, one) => sum + one.sigma ** 2, 0)) / n;
      const half = TWO_SIDED_95 * Math.hypot(between, own, LEAST_SIGMA_SHARE * friction) + share95 * Math.abs(friction);
      return [{ slip: mean((one) => one.slip), friction, low: friction - half, high: friction + half, samples }];
    });
}
