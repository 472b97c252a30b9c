/**
 * Whether the setting is worth the same in every level of a factor (dry and wet, each day): Cochran's Q (1954) over the levels' own shifts, each
 * weighed by its own interval. Levels with too few runs for an interval are left out; fewer than two that are left say nothing.
 */
import { LEVEL } from "./level.ts";
import { chiSquareTail, normalQuantile } from "./distributions.ts";
import type { EffectDiffers, JudgedRun, StrataFactor } from "./judged-run.ts";
import type { RunStratum } from "./strata.ts";
import { testWithinStrata } from "./within-strata.ts";

type Timed = JudgedRun & { readonly seconds: number };

const secondsOf = (runs: readonly Timed[]) => runs.map((run) => run.seconds);
const runsIn = (strata: readonly RunStratum<Timed>[], side: "a" | "b") => strata.reduce((sum, stratum) => sum + stratum[side].length, 0);

function levelEffects(strata: readonly RunStratum<Timed>[], at: number): EffectDiffers["levels"] {
  const names = [...new Set(strata.map((stratum) => stratum.levels[at] as string))];
  return names.flatMap((name) => {
    const own = strata.filter((stratum) => stratum.levels[at] === name);
    const test = testWithinStrata(own.map((stratum) => ({ a: secondsOf(stratum.a), b: secondsOf(stratum.b) })));
    const interval = test.interval(LEVEL);
    if (test.smallestPossibleP > LEVEL) return [];
    return [{ name, a: runsIn(own, "a"), b: runsIn(own, "b"), hodgesLehmann: test.shift, ...interval }];
  });
}

/** Standard error of a shift, from its interval and the coverage that it really has; equal times leave none smaller than a tenth of a millisecond. */
const standardError = ({ low, high, coverage }: EffectDiffers["levels"][number]) =>
  Math.max((high - low) / 2 / normalQuantile(0.5 + coverage / 2), 1e-4);

function chanceOf(levels: EffectDiffers["levels"]): number {
  const weights = levels.map((level) => 1 / standardError(level) ** 2);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const centre = levels.reduce((sum, level, i) => sum + weights[i] * level.hodgesLehmann, 0) / total;
  const q = levels.reduce((sum, level, i) => sum + weights[i] * (level.hodgesLehmann - centre) ** 2, 0);
  return chiSquareTail(q, levels.length - 1);
}

/** Factors whose levels the setting does not treat alike, fewest levels first (dry and wet say more than a list of days): chances times the number of factors looked at (Bonferroni). */
export function effectDiffers(strata: readonly RunStratum<Timed>[], factors: readonly StrataFactor[]): EffectDiffers[] {
  const looked = factors.map((by, at) => ({ by, levels: levelEffects(strata, at) })).filter(({ levels }) => levels.length > 1);
  return looked
    .map(({ by, levels }) => ({
      by,
      p: Math.min(1, looked.length * chanceOf(levels)),
      levels: [...levels].sort((x, y) => Math.abs(x.hodgesLehmann) - Math.abs(y.hodgesLehmann)),
    }))
    .filter(({ p }) => p <= LEVEL)
    .sort((x, y) => x.levels.length - y.levels.length || x.p - y.p);
}
