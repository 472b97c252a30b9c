/**
 * Strata: runs that are compared with each other because day, surface, direction, car or plan are the same. Which of these to use is
 * suggested from what differs; strata that would leave too little to compare are not. Never fails.
 */
import { LEVEL } from "./level.ts";
import { ofWord } from "../kernel/by-word.ts";
import { pointOf } from "../run/course-words.ts";
import { type JudgedRun, STRATA_FACTORS, type StrataFactor } from "./judged-run.ts";
import { waysToDeal } from "./rank-chance.ts";

/** Where fewer of the runs than this find a partner of the other group, a factor is not used by itself. */
const LEAST_PAIRED_SHARE = 0.5;
/** Another car or road makes more than any setting: it is enough that one of the groups keeps as much, and the other's rest is left out. */
const WEIGHTY: readonly StrataFactor[] = ["car", "surface"];
/** What would pass for the setting most comes first. Plans are days too: they are used where asked for. */
const SUGGESTED: readonly StrataFactor[] = ["car", "surface", "day", "direction"];

type Timed = JudgedRun & { readonly seconds: number };

/** Runs of both groups, or of one alone, with what they share. */
export interface RunStratum<Run extends JudgedRun> {
  readonly name: string;
  /** What each factor is here, in the order of the factors. */
  readonly levels: readonly string[];
  readonly a: readonly Run[];
  readonly b: readonly Run[];
}

/** What strata are told by. */
export type StratifiedRun = Pick<JudgedRun, "day" | "courseDeg" | "conditions" | "car" | "planned">;

/** What a run is by one factor, in words. */
type LevelOf = (run: StratifiedRun) => string;

/** Courses that lie along one line within half a point of the compass are one strip's. */
const SAME_STRIP_COS = Math.cos(Math.PI / 8);
const cosBetween = (aDeg: number, bDeg: number) => Math.cos(((aDeg - bDeg) * Math.PI) / 180);

/** Ways are told by each day's first course, as another strip lies another way; a strip that was there before keeps its names. */
function directionOf(runs: readonly StratifiedRun[]): LevelOf {
  const first = new Map<string | null, number>();
  for (const { day, courseDeg } of runs)
    if (courseDeg !== null && !first.has(day))
      first.set(day, [...first.values()].find((known) => Math.abs(cosBetween(courseDeg, known)) > SAME_STRIP_COS) ?? courseDeg);
  return ({ day, courseDeg }) => {
    const reference = first.get(day);
    if (courseDeg === null || reference === undefined) return "direction unknown";
    const along = cosBetween(courseDeg, reference) > 0;
    return `${pointOf(along ? reference : (reference + 180) % 360)}bound`;
  };
}

/** What every factor says of these runs' days, surfaces ... */
export function levelsOf(runs: readonly StratifiedRun[]): Readonly<Record<StrataFactor, LevelOf>> {
  return {
    day: ({ day }) => day ?? "day unknown",
    surface: ({ conditions }) => ofWord(conditions, "surface")?.trim().toLowerCase() || "surface not noted",
    direction: directionOf(runs),
    car: ({ car }) => car ?? "car unknown",
    plan: ({ planned }) => (planned === null ? "no plan" : `plan ${planned}`),
  };
}

/** Every stratum that holds a run, in the order in which they were first driven; without factors all runs are one. */
export function partition<Run extends JudgedRun>(
  a: readonly Run[],
  b: readonly Run[],
  factors: readonly StrataFactor[],
): RunStratum<Run>[] {
  const says = levelsOf([...a, ...b]);
  const strata = new Map<string, { levels: string[]; a: Run[]; b: Run[] }>();
  for (const [side, runs] of [
    ["a", a],
    ["b", b],
  ] as const) {
    for (const run of runs) {
      const levels = factors.map((factor) => says[factor](run));
      const name = levels.join(", ");
      const known = strata.get(name) ?? { levels, a: [], b: [] };
      known[side].push(run);
      strata.set(name, known);
    }
  }
  const driven = ({ a: x, b: y }: { a: Run[]; b: Run[] }) => Math.min(...[...x, ...y].map((run) => run.drivenAt));
  return [...strata].map(([name, parts]) => ({ name, ...parts })).sort((x, y) => driven(x) - driven(y));
}

/** Strata in which there is something to compare. */
export const paired = <Run extends JudgedRun>(strata: readonly RunStratum<Run>[]) =>
  strata.filter(({ a, b }) => a.length > 0 && b.length > 0);

/** Two deals always stray farthest: everything one way, and the other. */
const smallestP = (strata: readonly RunStratum<Timed>[]) => 2 / waysToDeal(strata.map(({ a, b }) => ({ a: a.length, b: b.length })));

/**
 * The factors in which the runs differ, as long as most runs keep a partner and 1 in 20 stays within reach. `pairs`: how many pairs of groups
 * are compared in all.
 */
export function suggestFactors(a: readonly Timed[], b: readonly Timed[], pairs: number): StrataFactor[] {
  const says = levelsOf([...a, ...b]);
  const differs = (factor: StrataFactor) => new Set([...a, ...b].map((run) => says[factor](run))).size > 1;
  const reachable = (strata: readonly RunStratum<Timed>[]) => smallestP(strata) * pairs <= LEVEL;
  let chosen: StrataFactor[] = [];
  let within = partition(a, b, chosen);
  for (const factor of SUGGESTED) {
    if (!differs(factor)) continue;
    const next = [...chosen, factor];
    const strata = paired(partition(a, b, next));
    const [inA, inB] = (["a", "b"] as const).map((side) => strata.reduce((sum, stratum) => sum + stratum[side].length, 0)) as [
      number,
      number,
    ];
    const isEnough = WEIGHTY.includes(factor)
      ? Math.max(inA / a.length, inB / b.length) >= LEAST_PAIRED_SHARE
      : inA + inB >= LEAST_PAIRED_SHARE * (a.length + b.length);
    if (!isEnough) continue;
    if (reachable(within) && !reachable(strata)) continue;
    chosen = next;
    within = strata;
  }
  return STRATA_FACTORS.filter((factor) => chosen.includes(factor));
}

/** "4 days, dry and wet: compared within each"; null without factors. */
export function strataWords(strata: readonly RunStratum<JudgedRun>[], factors: readonly StrataFactor[]): string | null {
  if (factors.length === 0) return null;
  const parts = factors.map((factor, i) => {
    const levels = [...new Set(strata.map((stratum) => stratum.levels[i] as string))];
    if (factor === "day" || factor === "plan") return `${levels.length} ${factor}${levels.length === 1 ? "" : "s"}`;
    return levels.length === 1 ? (levels[0] as string) : `${levels.slice(0, -1).join(", ")} and ${levels.at(-1)}`;
  });
  return `${parts.join(", ")}: compared within each`;
}
