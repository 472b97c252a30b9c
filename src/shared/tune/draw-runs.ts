/**
 * Scatter of a fit from run to run by the bootstrap: whole runs are drawn again with replacement, since samples of one run are not
 * independent. Runs are drawn within their groups, so every group keeps its size. Null where no group has two runs.
 */
import { studentQuantile } from "../judge/distributions.ts";
import { createSeededRandom } from "../judge/seeded-random.ts";

export interface DrawnRuns {
  /** What each draw adds to the parameters. */
  readonly shifts: readonly Float64Array[];
  /** Factor from the draws' root mean square to a 95 % half width: Student's factor, and a correction for the small scatter of few runs. */
  readonly factor95: number;
}

/** The seed is fixed, so that the same book gives the same figures. */
const SEED = 20260101;
const DRAWINGS = 400;

/**
 * `pulls[r]`: how far run r would move each parameter if it counted once more. This is one step of the fit, so only the disagreement
 * between runs scatters and not which slips were driven. `groups[r]`: the group that run r belongs to.
 */
export function drawRuns(pulls: readonly Float64Array[], groups: readonly string[], drawings = DRAWINGS): DrawnRuns | null {
  const members = [...new Set(groups)].map((group) => groups.flatMap((one, r) => (one === group ? [r] : [])));
  // A run alone in its group shows no scatter. Where all are alone, they are treated as one group.
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
  // A draw of n runs has (n - 1) / n of the variance of n runs.
  return { shifts, factor95: studentQuantile(0.975, degrees) * Math.sqrt((degrees + strata.length) / degrees) };
}

/** 95 % half width of parameter `j`. */
export function drawnHalfWidth({ shifts, factor95 }: DrawnRuns, j: number): number {
  return factor95 * Math.sqrt(shifts.reduce((sum, shift) => sum + shift[j] ** 2, 0) / shifts.length);
}
