/** The sentences of a comparison. A difference is claimed only where an interval and the chance that decides both say so. */
import type { Comparison, Difference, DrivenPlan, Interval, JudgedRun } from "./judged-run.ts";
import { chanceWords, fixed, numberWord, percent, quickerOrSlower, reach, runsWords } from "./wording.ts";

const SHOWN = 0.05;
/** Below this a receiver's times are not to be compared (README). */
const LEAST_RECEIVER_HZ = 5;

/** Chance after adjustment for several pairs, and how many pairs there are. */
export interface Family {
  readonly p: number;
  readonly pairs: number;
}

type Finding = "shown" | "notShown" | "disagree" | "tooFew";

function deciding(difference: Difference) {
  const { asPlanned, permutation } = difference;
  if (asPlanned) return { ...asPlanned, count: asPlanned.arrangements, planned: true };
  return permutation ? { ...permutation, count: permutation.assignments, planned: false } : null;
}

const holdsZero = (interval: Interval) => interval.low <= 0 && interval.high >= 0;

/**
 * The interval whose word agrees with the chance that decides: the rank interval, or, where directions or the lot
 * make it speak otherwise than the planned count, that count's own interval. Null: none agrees.
 */
function agreeing(difference: Difference, family: Family): { interval: Interval; shift: number; planned: boolean } | null {
  const { hodgesLehmann, interval, asPlanned, meanDifference } = difference;
  const unsure = family.p > SHOWN;
  if (interval && hodgesLehmann !== null && holdsZero(interval) === unsure) return { interval, shift: hodgesLehmann, planned: false };
  const own = asPlanned?.interval;
  if (own && meanDifference !== null && holdsZero(own) === unsure) return { interval: own, shift: meanDifference, planned: true };
  return null;
}

function find(difference: Difference, family: Family): Finding {
  const chance = deciding(difference);
  if (!chance || chance.smallestPossibleP * family.pairs > SHOWN) return "tooFew";
  if (!agreeing(difference, family)) return "disagree";
  return family.p <= SHOWN ? "shown" : "notShown";
}

/** "three and three": the sizes of the groups. */
function sizes(comparison: Pick<Comparison, "a" | "b">): string {
  return `${numberWord(comparison.a.values.length)} and ${numberWord(comparison.b.values.length)}`;
}

/** The sentence a person can repeat; `difference` must hold its figures (compare gives them). */
export function verdictOf(difference: Difference & Partial<Pick<Comparison, "a" | "b">>, a: string, b: string, family: Family): string {
  const chance = deciding(difference);
  const said = agreeing(difference, family) ?? { interval: difference.interval, shift: difference.hodgesLehmann, planned: false };
  const { shift, interval } = said;
  if (!chance || !interval || shift === null) return `cannot tell: ${a} and ${b} have too few runs.`;
  const counted = { extreme: chance.extreme, count: chance.count, planned: chance.planned, sampled: chance.method === "sampled" };
  const odds = chanceWords(counted);
  const many = family.pairs > 1 ? `; with ${family.pairs} pairs compared, p ${fixed(family.p, 3)}` : "";
  const cover = `${percent(interval.coverage)}${said.planned ? ", over the planned orders" : ""}`;
  switch (find(difference, family)) {
    case "tooFew": {
      const who = difference.a && difference.b ? sizes({ a: difference.a, b: difference.b }) : "so few runs";
      return `cannot tell: ${who} never reach 1 in 20${family.pairs > 1 ? " in each of so many pairs" : ""}; so far ${quickerOrSlower(shift)}, ${reach(interval)} (${cover}).`;
    }
    case "shown":
      return `${quickerOrSlower(shift)}, ${reach(interval)} (${cover}); ${odds}${many}.`;
    case "notShown":
      return `no difference shown; ${reach(interval)} (${cover}); ${odds}${many}.`;
    case "disagree":
      return `no difference shown for sure: ${quickerOrSlower(shift)}, ${reach(interval)} (${cover}), yet ${odds}${many}.`;
  }
}

/** One sentence that names the groups and the gate. */
export function headlineOf(comparison: Difference & Pick<Comparison, "a" | "b" | "gate" | "start">, family: Family): string {
  const { a, b } = comparison;
  // A gate is timed from movement unless it says otherwise: the other start gives other seconds under the same name.
  const gate = comparison.start === "1 ft" ? `${comparison.gate} from 1 ft` : comparison.gate;
  switch (find(comparison, family)) {
    case "tooFew":
      return `Cannot tell ${b.label} from ${a.label}, ${gate}: ${sizes(comparison)} never reach 1 in 20.`;
    case "shown":
      return `${b.label} is ${quickerOrSlower(agreeing(comparison, family)?.shift ?? 0)} than ${a.label}, ${gate}.`;
    case "notShown":
    case "disagree":
      return `No difference shown between ${a.label} and ${b.label}, ${gate}.`;
  }
}

function planWarnings(comparison: Pick<Comparison, "a" | "b" | "asPlanned">, plan: DrivenPlan | null): string[] {
  const driven = (id: number | null) => id !== null && (comparison.a.runs.includes(id) || comparison.b.runs.includes(id));
  // A plan that none of these runs belongs to is for another day: it says nothing of them.
  if (!plan?.slots.some(driven))
    return ["no plan: the order was not drawn by lot, so the count of orders takes it on trust that any order was as likely"];
  const ids = [...comparison.a.runs, ...comparison.b.runs];
  const outside = ids.filter((id) => !plan.slots.includes(id));
  const labelOf = (id: number) => (comparison.a.runs.includes(id) ? comparison.a.label : comparison.b.label);
  const moved = plan.slots.filter((id, slot) => id !== null && ids.includes(id) && labelOf(id) !== plan.design.groups[plan.order[slot]]);
  const warnings: string[] = [];
  if (!comparison.asPlanned) warnings.push("the plan does not hold runs of both groups: its orders decide nothing here");
  if (outside.length > 0) warnings.push(`${runsWords(outside, "lies", "lie")} outside the plan: in every figure but the planned count`);
  if (moved.length > 0)
    warnings.push(
      `${runsWords(moved, "carries", "carry")} another label than the plan gave ${moved.length === 1 ? "its slot" : "their slots"}: left out of the planned count`,
    );
  const open = plan.slots.filter((id) => id === null).length;
  if (open > 0)
    warnings.push(`${open} of ${plan.slots.length} planned runs are not in: stopping when it looks right makes chance look like gain`);
  return warnings;
}

function runWarnings(runs: readonly JudgedRun[]): string[] {
  const warnings: string[] = [];
  const ids = (picked: readonly JudgedRun[]) => picked.map((run) => run.id);
  const provisional = runs.filter((run) => !run.final);
  const slow = runs.filter((run) => run.flags.some(({ flag }) => flag === "slowReceiver"));
  if (provisional.length > 0)
    warnings.push(`${runsWords(ids(provisional), "is", "are")} provisional: times may change when the recording closes`);
  if (slow.length > 0)
    warnings.push(
      `${runsWords(ids(slow), "was", "were")} timed by a receiver below ${LEAST_RECEIVER_HZ} Hz: such times should not be compared`,
    );
  const flagged = runs.filter((run) => run.flags.some((flag) => flag.flag !== "wheelspin"));
  if (flagged.length > 0) {
    const list = flagged.map((run) => `run ${run.id} (${run.flags.map((flag) => flag.flag).join(", ")})`).join(", ");
    warnings.push(`flagged and in use: ${list}`);
  }
  return warnings;
}

function bestWarning(comparison: Pick<Comparison, "a" | "b" | "bestDifference">): string {
  const [na, nb] = [comparison.a.values.length, comparison.b.values.length];
  const more = na === nb ? "" : `, and ${nb > na ? comparison.b.label : comparison.a.label} had more tries`;
  return `best against best (${fixed(comparison.bestDifference ?? 0)} s) hides the other runs: the best of n is the luckiest and gets better with n by luck alone${more}`;
}

/** Everything a reader must hear before believing the figure. */
export function warningsOf(
  comparison: Omit<Comparison, "headline" | "verdict" | "warnings" | "withAllRuns">,
  runs: readonly [readonly JudgedRun[], readonly JudgedRun[]],
  plan: DrivenPlan | null,
  unequal: readonly string[],
  pairs: number,
): string[] {
  const warnings: string[] = [];
  const chance = deciding(comparison);
  if (chance && chance.smallestPossibleP * pairs > SHOWN) warnings.push(`too few runs: ${sizes(comparison)} never reach 1 in 20`);
  if (chance?.method === "sampled")
    warnings.push(`chance was counted on ${chance.count} orders drawn at random: there are too many to count them all`);
  const { interval } = comparison;
  if (interval && interval.coverage < 1 - SHOWN / pairs - 1e-12)
    warnings.push(`the interval covers ${percent(interval.coverage)} only: so few runs allow no wider one`);
  if (comparison.tied) warnings.push("some times are equal: the interval covers at least what is stated");
  warnings.push(...unequal);
  const unarmed = comparison.setAside.filter((run) => run.unarmed).map(({ run }) => run);
  if (unarmed.length > 0)
    warnings.push(
      `${runsWords(unarmed, "was", "were")} driven without being armed, and set aside when stored: take back in what was meant as a run`,
    );
  for (const run of comparison.setAside) {
    if (run.unarmed) continue;
    const seen = run.afterTimeSeen ? "after its time was seen" : "before its time was seen";
    warnings.push(`run ${run.run} was set aside ${seen}: ${run.why || "no reason noted"}`);
  }
  for (const run of comparison.notReached) warnings.push(`run ${run.run} has no time here: ${run.why}`);
  warnings.push(...planWarnings(comparison, plan), ...runWarnings(runs.flat()));
  // Already in the interval: it comes after what is not.
  if (comparison.measurementBetweenGroups) warnings.push(comparison.measurementBetweenGroups.why);
  const { drift } = comparison;
  if (drift && Math.abs(drift.perRun) > drift.perRunPlusMinus95)
    warnings.push(
      `drift: each run ${fixed(Math.abs(drift.perRun), 3)} s ${drift.perRun > 0 ? "slower" : "quicker"} than the last; with that taken out ${quickerOrSlower(drift.adjustedDifference)}, ${reach({ ...drift, coverage: 0.95 })} (95 %)`,
    );
  warnings.push(bestWarning(comparison));
  if (pairs > 1) warnings.push(`${pairs} pairs are compared: chances are Holm-adjusted and intervals hold together`);
  return warnings;
}
