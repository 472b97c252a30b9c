/**
 * Compares two groups of runs, or every pair of several, and gives the verdict. Every labelled run counts unless a person set it aside. A
 * group without a time for the gate throws CompareError with what to do.
 */
import { LEVEL } from "./level.ts";
import type { StartName } from "../launch/gate-result.ts";
import { type CompareInput, examine, type Pair } from "./compare-pair.ts";
import type { Comparison, GroupSummary } from "./judged-run.ts";
import { subjectOf } from "./noted-conditions.ts";
import { unequalConditions } from "./unequal-conditions.ts";
import { type Family, headlineOf, saidOf, verdictOf, warningsOf } from "./verdict.ts";

export interface GroupComparison {
  readonly gate: string;
  readonly start: StartName;
  readonly groups: readonly GroupSummary[];
  /** Every pair, with its chance adjusted for their number (Holm 1979). */
  readonly pairs: readonly (Comparison & { readonly holmP: number })[];
  readonly verdict: string;
}

function conclude(pair: Pair, input: CompareInput, family: Family, level: number): Comparison {
  const { comparison, all } = pair.at(level);
  const labels = [comparison.a.label, comparison.b.label] as const;
  const ownP = (all?.asPlanned ?? all?.permutation)?.pTwoSided ?? 1;
  return {
    ...comparison,
    said: saidOf(comparison, family),
    subject: subjectOf(...pair.runs),
    withAllRuns: all && { ...all, verdict: verdictOf(all, ...labels, { ...family, p: Math.min(1, (ownP * LEVEL) / level) }) },
    warnings: warningsOf(comparison, pair.runs, input.plan, unequalConditions(...pair.runs, comparison.by), {
      family,
      level,
    }),
    headline: headlineOf(comparison, family),
    verdict: verdictOf(comparison, ...labels, family),
  };
}

interface Adjusted {
  readonly p: number;
  /** The level at which the pair's own chance decides: its interval is of that level, so that both say the same. */
  readonly level: number;
}

/** Step-down adjustment of p for several tests (Holm 1979), in the order given: each is tested at 0.05 over the number of those not less sure, until one fails; it and the rest stand at 0.05 over all. */
export function holm(ps: readonly number[]): Adjusted[] {
  const order = ps.map((_, i) => i).sort((i, j) => ps[i] - ps[j]);
  const adjusted = new Array<Adjusted>(ps.length).fill({ p: 1, level: LEVEL });
  let least = 0;
  let refusing = true;
  order.forEach((index, rank) => {
    const level = LEVEL / (ps.length - rank);
    refusing &&= ps[index] <= level;
    least = Math.max(least, Math.min(1, (ps.length - rank) * ps[index]));
    // The product may round beyond the level that its chance does not exceed.
    adjusted[index] = refusing ? { p: Math.min(least, LEVEL), level } : { p: least, level: LEVEL / ps.length };
  });
  return adjusted;
}

/** Compares the two groups of `input`; b minus a. Throws CompareError (a group without usable runs) or RangeError (not two groups). */
export function compare(input: CompareInput): Comparison {
  const [a, b] = input.groups;
  if (input.groups.length !== 2 || a === undefined || b === undefined || a === b)
    throw new RangeError(`Expected two different groups, got ${input.groups.map((label) => JSON.stringify(label)).join(", ") || "none"}`);
  const pair = examine(input, [a, b], 1);
  return conclude(pair, input, { p: pair.pTwoSided, pairs: 1 }, LEVEL);
}

/** Compares every pair of two or more groups, Holm-adjusted; each interval is of the level at which its pair was decided. */
export function compareGroups(input: CompareInput): GroupComparison {
  const labels = input.groups;
  if (labels.length < 2 || new Set(labels).size < labels.length)
    throw new RangeError(`Expected two or more different groups, got ${labels.join(", ") || "none"}`);
  const names = labels.flatMap((a, i) => labels.slice(i + 1).map((b) => [a, b] as const));
  const pairs = names.map((pair) => examine(input, pair, names.length));
  const adjusted = holm(pairs.map((pair) => pair.pTwoSided));
  const concluded = pairs.map((pair, i) => {
    const { p, level } = adjusted[i] as Adjusted;
    return { ...conclude(pair, input, { p, pairs: names.length }, level), holmP: p };
  });
  const groups = labels.map(
    (label) => concluded.flatMap((pair) => [pair.a, pair.b]).find((group) => group.label === label) as GroupSummary,
  );
  return { gate: input.gate, start: input.start, groups, pairs: concluded, verdict: concluded.map((pair) => pair.headline).join(" ") };
}
