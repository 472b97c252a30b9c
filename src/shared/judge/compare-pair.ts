/** Two groups of runs: who counts, in which strata, and what the one test within them says. A group without a time throws CompareError with what to do. */
import { median } from "../kernel/statistics.ts";
import type { StartName } from "../launch/gate-result.ts";
import { UNARMED } from "../run/unarmed.ts";
import { mean, tidy } from "./counting.ts";
import { fitDrift, LEAST_RUNS_FOR_DRIFT } from "./drift.ts";
import { effectDiffers } from "./effect-differs.ts";
import type { Comparison, Difference, DrivenPlan, GroupSummary, JudgedRun, StrataFactor } from "./judged-run.ts";
import { measurementBetween } from "./measurement-between.ts";
import { type PlannedResult, plannedTest } from "./planned-test.ts";
import { weightOf } from "./rank-chance.ts";
import { paired, partition, type RunStratum, strataWords, suggestFactors } from "./strata.ts";
import { shiftWithinStrata, testWithinStrata } from "./within-strata.ts";

export class CompareError extends Error {
  readonly code = "compare";
}

export interface CompareInput {
  readonly gate: string;
  readonly start: StartName;
  /** Two labels or more; differences are later minus earlier. */
  readonly groups: readonly string[];
  /** All runs of the book, in any order; other labels are left out. */
  readonly runs: readonly JudgedRun[];
  /** The plan they were driven under, null without one. */
  readonly plan: DrivenPlan | null;
  /** What runs are compared within; absent: what the runs differ in, empty: all with all. */
  readonly by?: readonly StrataFactor[] | undefined;
}

type Timed = JudgedRun & { readonly seconds: number };

const isTimed = (run: JudgedRun): run is Timed => run.seconds !== null;
const secondsOf = (runs: readonly Timed[]) => runs.map((run) => run.seconds);
/** What a stratum's pairs weigh together in the test. */
const shareOf = (size: { readonly a: number; readonly b: number }) => weightOf(size) * size.a * size.b;

function summarise(label: string, runs: readonly Timed[]): GroupSummary {
  const values = secondsOf(runs);
  const centre = values.length === 0 ? null : mean(values);
  const spread =
    centre === null || values.length < 2 ? null : Math.sqrt(values.reduce((s, v) => s + (v - centre) ** 2, 0) / (values.length - 1));
  return {
    label,
    values,
    runs: runs.map((run) => run.id),
    plusMinus95: runs.map((run) => run.plusMinus95),
    best: values.length === 0 ? null : Math.min(...values),
    median: values.length === 0 ? null : tidy(median(values)),
    mean: centre === null ? null : tidy(centre),
    standardDeviation: spread,
  };
}

interface Compared {
  readonly input: CompareInput;
  readonly a: readonly Timed[];
  readonly b: readonly Timed[];
  readonly labels: readonly [string, string];
  readonly factors: readonly StrataFactor[];
}

/** The plan's test for this pair, or null where the plan does not hold both groups, too few of its slots have a time, or most runs lie outside of it. */
function planned({ input: { plan }, a, b, labels }: Compared): PlannedResult | null {
  if (!plan) return null;
  const [indexA, indexB] = labels.map((label) => plan.design.groups.indexOf(label)) as [number, number];
  if (indexA < 0 || indexB < 0) return null;
  const byId = new Map([...a, ...b].map((run) => [run.id, run]));
  const values = plan.slots.map((id, slot) => {
    const run = id === null ? undefined : byId.get(id);
    const group = plan.order[slot];
    return run && run.label === plan.design.groups[group as number] ? run.seconds : null;
  });
  const of = (index: number) => values.filter((value, slot) => value !== null && plan.order[slot] === index).length;
  if (of(indexA) === 0 || of(indexB) === 0 || 2 * (of(indexA) + of(indexB)) <= a.length + b.length) return null;
  return plannedTest({ design: plan.design, order: plan.order, values, a: indexA, b: indexB }, plan.seed);
}

/** Figures whose intervals wait for the level at which this pair is judged. */
interface Judged {
  readonly pTwoSided: number;
  readonly at: (level: number) => Difference;
}

function noneShared({ factors, labels }: Compared): CompareError {
  const within = factors.length === 0 ? "run" : factors.join(" and ");
  return new CompareError(
    `No ${within} holds runs of both ${JSON.stringify(labels[0])} and ${JSON.stringify(labels[1])}: compare by something they share, or by none`,
  );
}

function judge(compared: Compared): Judged & { readonly strata: readonly RunStratum<Timed>[]; readonly tied: boolean } {
  const { a, b, factors } = compared;
  const all = partition(a, b, factors);
  const strata = paired(all);
  if (strata.length === 0) throw noneShared(compared);
  const test = testWithinStrata(strata.map((stratum) => ({ a: secondsOf(stratum.a), b: secondsOf(stratum.b) })));
  const asPlanned = planned(compared);
  const widen = measurementBetween(strata, shareOf)?.plusMinus ?? 0;
  const wider = ({ low, high, coverage }: { low: number; high: number; coverage: number }) => ({
    low: tidy(low - widen),
    high: tidy(high + widen),
    coverage,
  });
  const [x, y] = [secondsOf(a), secondsOf(b)];
  const { z, pTwoSided, assignments, extreme, smallestPossibleP, method } = test;
  return {
    strata,
    tied: test.tied,
    pTwoSided: asPlanned?.pTwoSided ?? pTwoSided,
    at(level) {
      const planInterval = asPlanned?.interval(level) ?? null;
      return {
        used: a.length + b.length,
        by: factors,
        strata: factors.length === 0 ? [] : strata.map(summaryOf),
        within: strataWords(strata, factors),
        alone: all.flatMap((stratum) => (strata.includes(stratum) ? [] : [...stratum.a, ...stratum.b].map((run) => run.id))),
        bestDifference: tidy(Math.min(...y) - Math.min(...x)),
        meanDifference: tidy(mean(y) - mean(x)),
        hodgesLehmann: test.shift,
        interval: wider(test.interval(level)),
        permutation: { pTwoSided, assignments, extreme, smallestPossibleP, method, z },
        asPlanned: asPlanned && { ...asPlanned, interval: planInterval && wider(planInterval) },
      };
    },
  };
}

function summaryOf({ name, a, b }: RunStratum<Timed>): Difference["strata"][number] {
  return { name, a: a.length, b: b.length, hodgesLehmann: shiftWithinStrata([{ a: secondsOf(a), b: secondsOf(b) }]) };
}

export interface Pair {
  readonly pTwoSided: number;
  readonly runs: readonly [readonly Timed[], readonly Timed[]];
  /** Everything but the words, with intervals that refuse at this level; `all`: the same with the runs set aside, null without any. */
  at(level: number): {
    readonly comparison: Omit<Comparison, "headline" | "verdict" | "warnings" | "withAllRuns" | "said" | "subject">;
    readonly all: Difference | null;
  };
}

function knownLabels(runs: readonly JudgedRun[]): string {
  const labels = [...new Set(runs.map((run) => run.label).filter((label) => label !== ""))];
  return labels.length === 0 ? "none (no run has a label yet)" : labels.map((label) => JSON.stringify(label)).join(", ");
}

/** Runs of both labels in the order driven. */
function labelledRuns(input: CompareInput, labels: readonly [string, string]): [JudgedRun[], JudgedRun[]] {
  const ordered = [...input.runs].sort((x, y) => x.drivenAt - y.drivenAt || x.id - y.id);
  const labelled = labels.map((label) => ordered.filter((run) => run.label === label)) as [JudgedRun[], JudgedRun[]];
  labels.forEach((label, i) => {
    if (labelled[i]?.length === 0)
      throw new CompareError(`No run is labelled ${JSON.stringify(label)}: label some runs, or name one of ${knownLabels(input.runs)}`);
    if (!labelled[i]?.some((run) => run.use && isTimed(run)))
      throw new CompareError(
        `No run of ${JSON.stringify(label)} in use reached ${input.gate} from ${input.start}: drive it, use a run again that was set aside, or choose another gate`,
      );
  });
  return labelled;
}

/** Drift by place in the order driven, among all timed runs; null with few runs, and over several days: tyres and battery begin anew each day. */
function driftOf(input: CompareInput, a: readonly Timed[], b: readonly Timed[]) {
  if (Math.min(a.length, b.length) < LEAST_RUNS_FOR_DRIFT || new Set([...a, ...b].map(({ day }) => day)).size > 1) return null;
  const kept = new Set([...a, ...b].map((run) => run.label));
  const ordered = input.runs.filter((run) => isTimed(run) || kept.has(run.label)).sort((x, y) => x.drivenAt - y.drivenAt || x.id - y.id);
  const place = new Map(ordered.map((run, i) => [run.id, i]));
  const timed = (runs: readonly Timed[]) => runs.map((run) => ({ position: place.get(run.id) as number, seconds: run.seconds }));
  return fitDrift(timed(a), timed(b));
}

/** `pairs`: how many are compared in all. */
export function examine(input: CompareInput, labels: readonly [string, string], pairs: number): Pair {
  const both = labelledRuns(input, labels);
  const [allA, allB] = both.map((runs) => runs.filter(isTimed)) as [Timed[], Timed[]];
  const [a, b] = [allA.filter((run) => run.use), allB.filter((run) => run.use)];
  const factors = input.by ?? suggestFactors(a, b, pairs);
  const judged = judge({ input, a, b, labels, factors });
  const setAside = both.flat().filter((run) => !run.use);
  const withAll = setAside.some(isTimed) ? judge({ input, a: allA, b: allB, labels, factors }) : null;
  const base = {
    gate: input.gate,
    start: input.start,
    a: summarise(labels[0], a),
    b: summarise(labels[1], b),
    setAside: setAside.map((run) => ({
      run: run.id,
      label: run.label,
      seconds: run.seconds,
      why: run.note,
      afterTimeSeen: run.setAsideAfterTimeSeen ?? false,
      ...(run.note === UNARMED ? { unarmed: true as const } : {}),
    })),
    notReached: both
      .flat()
      .filter((run) => run.use && run.seconds === null)
      .map((run) => ({ run: run.id, why: run.why ?? "gate not reached" })),
    measurementBetweenGroups: measurementBetween(judged.strata, shareOf),
    drift: driftOf(input, a, b),
    effectDiffers: effectDiffers(judged.strata, factors),
    tied: judged.tied,
  };
  return {
    pTwoSided: judged.pTwoSided,
    runs: [a, b],
    at(level) {
      const difference = judged.at(level);
      const decides = difference.asPlanned ? ("asPlanned" as const) : ("permutation" as const);
      return { comparison: { ...base, ...difference, decides }, all: withAll?.at(level) ?? null };
    },
  };
}
