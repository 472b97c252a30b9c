/**
 * The verdict on two groups of runs, or on every pair of more. Every labelled run counts unless a person set it
 * aside. A group without a time for the gate throws CompareError with what to do.
 */
import { median } from "../kernel/statistics.ts";
import type { StartName } from "../launch/gate-result.ts";
import { UNARMED } from "../run/unarmed.ts";
import { fitDrift, LEAST_RUNS_FOR_DRIFT } from "./drift.ts";
import { hodgesLehmann, tidy } from "./hodges-lehmann.ts";
import type { Comparison, Difference, DrivenPlan, GroupSummary, JudgedRun } from "./judged-run.ts";
import { mean, permutationTest } from "./permutation.ts";
import { plannedTest } from "./planned-test.ts";
import { measurementBetweenGroups, unequalConditions } from "./unequal-conditions.ts";
import { headlineOf, verdictOf, warningsOf } from "./verdict.ts";

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
}

export interface GroupComparison {
  readonly gate: string;
  readonly start: StartName;
  readonly groups: readonly GroupSummary[];
  /** Every pair, with its chance adjusted for their number (Holm 1979). */
  readonly pairs: readonly (Comparison & { readonly holmP: number })[];
  readonly verdict: string;
}

type Timed = JudgedRun & { readonly seconds: number };

const isTimed = (run: JudgedRun): run is Timed => run.seconds !== null;

function summarise(label: string, runs: readonly Timed[]): GroupSummary {
  const values = runs.map((run) => run.seconds);
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
  /** How many are compared in all. */
  readonly pairs: number;
  /** Added to either side of an interval, s. */
  readonly widen: number;
}

/** The plan's test for this pair, or null where the plan does not hold both groups or too few of its slots have a time. */
function planned({ input: { plan }, a, b, labels, pairs, widen }: Compared): Difference["asPlanned"] {
  if (!plan) return null;
  const [indexA, indexB] = labels.map((label) => plan.design.groups.indexOf(label)) as [number, number];
  if (indexA < 0 || indexB < 0) return null;
  const byId = new Map([...a, ...b].map((run) => [run.id, run]));
  const values = plan.slots.map((id, slot) => {
    const run = id === null ? undefined : byId.get(id);
    const group = plan.order[slot];
    return run && run.label === plan.design.groups[group as number] ? run.seconds : null;
  });
  const has = (index: number) => values.some((value, slot) => value !== null && plan.order[slot] === index);
  if (!has(indexA) || !has(indexB)) return null;
  const result = plannedTest(
    { design: plan.design, order: plan.order, values, a: indexA, b: indexB },
    { seed: plan.seed, wanted: 1 - 0.05 / pairs },
  );
  const { interval } = result;
  return { ...result, interval: interval && { ...interval, low: tidy(interval.low - widen), high: tidy(interval.high + widen) } };
}

function differ(compared: Compared): Difference {
  const { a, b, pairs, widen } = compared;
  const [x, y] = [a.map((run) => run.seconds), b.map((run) => run.seconds)];
  const shift = hodgesLehmann(x, y, 1 - 0.05 / pairs);
  return {
    used: a.length + b.length,
    bestDifference: tidy(Math.min(...y) - Math.min(...x)),
    meanDifference: tidy(mean(y) - mean(x)),
    hodgesLehmann: shift.shift,
    interval: { low: tidy(shift.low - widen), high: tidy(shift.high + widen), coverage: shift.coverage },
    permutation: permutationTest(x, y),
    asPlanned: planned(compared),
  };
}

interface Pair {
  readonly comparison: Omit<Comparison, "headline" | "verdict" | "warnings" | "withAllRuns">;
  readonly runs: readonly [readonly Timed[], readonly Timed[]];
  readonly all: Difference | null;
  readonly p: number;
}

function examine(input: CompareInput, labels: readonly [string, string], pairs: number): Pair {
  const ordered = [...input.runs].sort((x, y) => x.drivenAt - y.drivenAt || x.id - y.id);
  const labelled = labels.map((label) => ordered.filter((run) => run.label === label));
  labels.forEach((label, i) => {
    if (labelled[i]?.length === 0)
      throw new CompareError(`No run is labelled ${JSON.stringify(label)}: label some runs, or name one of ${knownLabels(input.runs)}`);
  });
  const [allA, allB] = labelled.map((runs) => runs.filter(isTimed)) as [Timed[], Timed[]];
  const [a, b] = [allA.filter((run) => run.use), allB.filter((run) => run.use)];
  labels.forEach((label, i) => {
    if ([a, b][i]?.length === 0)
      throw new CompareError(
        `No run of ${JSON.stringify(label)} in use reached ${input.gate} from ${input.start}: drive it, take a run back, or choose another gate`,
      );
  });
  const both = labelled.flat();
  const between = measurementBetweenGroups(a, b);
  const widen = between?.plusMinus ?? 0;
  const difference = differ({ input, a, b, labels, pairs, widen });
  const place = new Map(ordered.filter((run) => isTimed(run) || labels.includes(run.label)).map((run, i) => [run.id, i]));
  const timed = (runs: readonly Timed[]) => runs.map((run) => ({ position: place.get(run.id) as number, seconds: run.seconds }));
  const enough = Math.min(a.length, b.length) >= LEAST_RUNS_FOR_DRIFT;
  const setAside = both.filter((run) => !run.use);
  const deciding = difference.asPlanned ?? difference.permutation;
  return {
    comparison: {
      gate: input.gate,
      start: input.start,
      a: summarise(labels[0], a),
      b: summarise(labels[1], b),
      ...difference,
      setAside: setAside.map((run) => ({
        run: run.id,
        label: run.label,
        seconds: run.seconds,
        why: run.note,
        afterTimeSeen: run.setAsideAfterTimeSeen ?? false,
        ...(run.note === UNARMED ? { unarmed: true as const } : {}),
      })),
      notReached: both.filter((run) => run.use && run.seconds === null).map((run) => ({ run: run.id, why: run.why ?? "gate not reached" })),
      measurementBetweenGroups: between,
      drift: enough ? fitDrift(timed(a), timed(b)) : null,
      tied: hodgesLehmann(
        a.map((run) => run.seconds),
        b.map((run) => run.seconds),
      ).tied,
      decides: difference.asPlanned ? "asPlanned" : "permutation",
    },
    runs: [a, b],
    all: setAside.some(isTimed)
      ? differ({ input, a: allA, b: allB, labels, pairs, widen: measurementBetweenGroups(allA, allB)?.plusMinus ?? 0 })
      : null,
    p: deciding?.pTwoSided ?? 1,
  };
}

function knownLabels(runs: readonly JudgedRun[]): string {
  const labels = [...new Set(runs.map((run) => run.label).filter((label) => label !== ""))];
  return labels.length === 0 ? "none (no run has a label yet)" : labels.map((label) => JSON.stringify(label)).join(", ");
}

function conclude(pair: Pair, input: CompareInput, adjusted: number, pairs: number): Comparison {
  const { comparison, all } = pair;
  const family = { p: adjusted, pairs };
  return {
    ...comparison,
    withAllRuns: all
      ? {
          ...all,
          verdict: verdictOf(all, comparison.a.label, comparison.b.label, { p: (all.asPlanned ?? all.permutation)?.pTwoSided ?? 1, pairs }),
        }
      : null,
    warnings: warningsOf(comparison, pair.runs, input.plan, unequalConditions(...pair.runs), pairs),
    headline: headlineOf(comparison, family),
    verdict: verdictOf(comparison, comparison.a.label, comparison.b.label, family),
  };
}

/** Step-down adjustment of p for several tests (Holm 1979), in the order given. */
export function holm(ps: readonly number[]): number[] {
  const order = ps.map((_, i) => i).sort((i, j) => ps[i] - ps[j]);
  const adjusted = new Array<number>(ps.length).fill(1);
  let least = 0;
  order.forEach((index, rank) => {
    least = Math.max(least, Math.min(1, (ps.length - rank) * ps[index]));
    adjusted[index] = least;
  });
  return adjusted;
}

/** Compares the two groups of `input`; b minus a. Throws CompareError (a group without usable runs) or RangeError (not two groups). */
export function compare(input: CompareInput): Comparison {
  const [a, b] = input.groups;
  if (input.groups.length !== 2 || a === undefined || b === undefined || a === b)
    throw new RangeError(`Expected two different groups, got ${input.groups.map((label) => JSON.stringify(label)).join(", ") || "none"}`);
  const pair = examine(input, [a, b], 1);
  return conclude(pair, input, pair.p, 1);
}

/** Compares every pair of two or more groups, Holm-adjusted; intervals hold together (each at 1 - 0.05 / pairs). */
export function compareGroups(input: CompareInput): GroupComparison {
  const labels = input.groups;
  if (labels.length < 2 || new Set(labels).size < labels.length)
    throw new RangeError(`Expected two or more different groups, got ${labels.join(", ") || "none"}`);
  const names = labels.flatMap((a, i) => labels.slice(i + 1).map((b) => [a, b] as const));
  const pairs = names.map((pair) => examine(input, pair, names.length));
  const adjusted = holm(pairs.map((pair) => pair.p));
  const concluded = pairs.map((pair, i) => ({
    ...conclude(pair, input, adjusted[i], names.length),
    holmP: adjusted[i],
  }));
  const groups = labels.map(
    (label) => concluded.flatMap((pair) => [pair.a, pair.b]).find((group) => group.label === label) as GroupSummary,
  );
  return { gate: input.gate, start: input.start, groups, pairs: concluded, verdict: concluded.map((pair) => pair.headline).join(" ") };
}
