/**
 * Scatter of a fit from run to run by the bootstrap: whole runs drawn again with replacement (samples of one run are not independent), each group
 * among its own, as a day has so many of each. Null where no group has two runs: then there is nothing to draw.
 */
import { studentQuantile } from "../judge/distributions.ts";
import { createSeededRandom } from "../judge/seeded-random.ts";

export interface DrawnRuns {
  /** What each drawing adds to the parameters. */
  readonly shifts: readonly Float64Array[];
  /** From the drawings' root mean square to a 95 % half width: Student's factor, and what so few runs draw too little of. */
  readonly factor95: number;
}

/** The seed is fixed: the same book gives the same figures. */
const SEED = 20260101;
const DRAWINGS = 400;

/**
 * `pulls[r]`: how far run r alone would move each parameter, were it counted once more; one step of the fit, so which slips were driven stays as it was
 * and only what runs disagree on scatters. `groups[r]`: what it was driven with.
 */
export function drawRuns(pulls: readonly Float64Array[], groups: readonly string[], drawings = DRAWINGS): DrawnRuns | null {
  const members = [...new Set(groups)].map((group) => groups.flatMap((one, r) => (one === group ? [r] : [])));
  // Runs that are alone in their group say nothing of scatter; where all are alone, they are taken for one group.
  const strata = members.some((runs) => runs.length > 1) ? members : [groups.map((_, r) => r)];
  const degrees = strata.reduce((sum, runs) => sum + runs.length - 1, 0);
  if (degrees < 1) return null;
  const random = createSeededRandom(SEED);
  const shifts = Array.from({ length: drawings }, () => {
    const shift = new Float64Array(pulls[0].length);
    for (const runs of strata) {
      for (const missed of runs) {
        const more = pulls[runs[random.below(runs.length)]];
        for (let j = 0; j < shift.length; j += 1) shift[j] += more[j] - pulls[missed][j];
      }
    }
    return shift;
  });
  // A drawing of n runs scatters by (n - 1) / n of the variance that n runs have.
  return { shifts, factor95: studentQuantile(0.975, degrees) * Math.sqrt((degrees + strata.length) / degrees) };
}

/** 95 % half width of parameter `j`. */
export function drawnHalfWidth({ shifts, factor95 }: DrawnRuns, j: number): number {
  return factor95 * Math.sqrt(shifts.reduce((sum, shift) => sum + shift[j] ** 2, 0) / shifts.length);
}
