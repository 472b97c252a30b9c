/** The sentences of a comparison. A difference is claimed only where an interval and the chance that decides both say so. */
import { LEVEL } from "./level.ts";
import { flagList, flagWords } from "../run/flag-words.ts";
import type { Comparison, Difference, DrivenPlan, EffectDiffers, Interval, JudgedRun, Said } from "./judged-run.ts";
import { lessAsShown } from "../kernel/number-words.ts";
import { carsWarning, surfacesWarning } from "./unequal-conditions.ts";
import {
  chanceWords,
  covers,
  fixed,
  grouped,
  numberWord,
  ordersWords,
  percent,
  pWords,
  quickerOrSlower,
  reach,
  runsWords,
} from "./wording.ts";

/** More flagged runs than these are told by kind. */
const MOST_FLAGGED = 8;
/** Times of a slower receiver are not comparable (README). */
const LEAST_RECEIVER_HZ = 5;

/** The chance after adjustment for several pairs, and the number of pairs. */
export interface Family {
  readonly p: number;
  readonly pairs: number;
}

type Finding = "shown" | "notShown" | "measurement" | "tooFew";

function deciding(difference: Difference) {
  const { asPlanned, permutation } = difference;
  if (asPlanned) return { ...asPlanned, count: asPlanned.arrangements, planned: true };
  return permutation ? { ...permutation, count: permutation.assignments, planned: false } : null;
}

const holdsZero = (interval: Interval) => interval.low <= 0 && interval.high >= 0;

/**
 * What stands in the sentence: shift and interval of the test that decides. Where the planned count decides and the interval within strata says the
 * same, that one, which needs no means; else the planned count's own.
 */
export function saidOf(difference: Difference, family: Family): Said | null {
  const { hodgesLehmann, interval, asPlanned } = difference;
  const unsure = family.p > LEVEL;
  const within = interval && hodgesLehmann !== null ? { ...interval, shift: hodgesLehmann, planned: false } : null;
  if (asPlanned === null || (within && holdsZero(within) === unsure)) return within;
  return asPlanned.interval && { ...asPlanned.interval, shift: asPlanned.shift, planned: true };
}

/** Whatever the times. A pair that is tested after others were refused needs less, and has then reached it (Holm 1979). */
const neverReaches = (chance: NonNullable<ReturnType<typeof deciding>>, { p, pairs }: Family) =>
  p > LEVEL && chance.smallestPossibleP * pairs > LEVEL;

function find(difference: Difference, family: Family): Finding {
  const chance = deciding(difference);
  const said = saidOf(difference, family);
  if (!chance || !said || neverReaches(chance, family)) return "tooFew";
  if (family.p > LEVEL) return "notShown";
  return holdsZero(said) ? "measurement" : "shown";
}

/** The fewest orders that any difference could be counted in: "2 of 20 orders". */
function leastOrders(chance: NonNullable<ReturnType<typeof deciding>>): string {
  const { smallestPossibleP: pTwoSided, count, planned, method } = chance;
  return ordersWords({ pTwoSided, count, planned, extreme: Math.round(pTwoSided * count), sampled: method === "sampled" });
}

/** What a pair's button says of chance: "2 of 70 orders; p 0.086 over 3 pairs". */
export function pairChanceWords(pair: Comparison & { readonly holmP: number }, pairs = 1): string {
  const chance = deciding(pair);
  if (chance === null) return "too few runs";
  return `${ordersWords({ ...chance, sampled: chance.method === "sampled" })}; ${pWords(pair.holmP)}${pairs > 1 ? ` over ${pairs} pairs` : ""}`;
}

/** "three and three": the sizes of the groups. */
function sizes(comparison: Pick<Comparison, "a" | "b">): string {
  return `${numberWord(comparison.a.values.length)} and ${numberWord(comparison.b.values.length)}`;
}

type Effects = Partial<Pick<Comparison, "effectDiffers">>;

const levelWords = ({ name, hodgesLehmann }: EffectDiffers["levels"][number]) => `${name} ${quickerOrSlower(hodgesLehmann)}`;
const MOST_LEVELS = 3;

/** "dry 0.15 s quicker, 0.12 to 0.18 s (95 %), wet 0.53 s quicker ...": every level, or of many the least and the most. */
function effectWords({ by, p, levels }: EffectDiffers): string {
  const told = levels.length > MOST_LEVELS ? [levels[0], levels.at(-1)] : levels;
  const each = told.flatMap((level) => (level === undefined ? [] : [`${levelWords(level)}, ${reach(level)} (${percent(level.coverage)})`]));
  const many = levels.length > MOST_LEVELS ? ` (the least and the most of ${levels.length})` : "";
  return `it differs by ${by}${many}: ${each.join(", ")} (chance of that if it did not ${p < 0.001 ? "under 0.001" : fixed(p, 3)})`;
}

/** The sentence a person can repeat; `difference` must hold its figures (compare gives them). */
export function verdictOf(
  difference: Difference & Partial<Pick<Comparison, "a" | "b">> & Effects,
  a: string,
  b: string,
  family: Family,
): string {
  const chance = deciding(difference);
  const said = saidOf(difference, family);
  if (!chance || !said) return `cannot tell: ${a} and ${b} have too few runs.`;
  const odds = chanceWords({ ...chance, sampled: chance.method === "sampled" });
  const many = family.pairs > 1 ? `; with ${family.pairs} pairs compared, ${pWords(family.p)}` : "";
  const cover = `${percent(said.coverage)}${said.planned ? ", over the planned orders" : ""}`;
  const wide = covers(said) ? `${reach(said)} (${cover})` : "no interval";
  const [differs] = difference.effectDiffers ?? [];
  const effect = differs ? `; ${effectWords(differs)}` : "";
  const over = differs ? "over all " : "";
  switch (find(difference, family)) {
    case "tooFew": {
      const who = difference.a && difference.b ? sizes({ a: difference.a, b: difference.b }) : "so few runs";
      return `cannot tell: ${who} never reach 1 in 20${difference.by.length > 0 ? " within their strata" : ""}${family.pairs > 1 ? " in each of so many pairs" : ""}, ${leastOrders(chance)} at best; so far ${quickerOrSlower(said.shift)}, ${wide}.`;
    }
    case "shown":
      return `${over}${quickerOrSlower(said.shift)}, ${reach(said)} (${cover})${effect}; ${odds}${many}.`;
    case "notShown":
      return `no difference shown${differs ? " over all" : ""}; ${reach(said)} (${cover})${effect}; ${odds}${many}.`;
    case "measurement":
      return `no difference shown; ${reach(said)} (${cover}) with what the groups' measurement may differ by, which could be all of it${effect}; ${odds}${many}.`;
  }
}

/** One sentence that names the groups and the gate. */
export function headlineOf(
  comparison: Difference & Pick<Comparison, "a" | "b" | "gate" | "start" | "effectDiffers">,
  family: Family,
): string {
  const { a, b } = comparison;
  // A gate is timed from movement unless stated; the other start gives other seconds under the same name.
  const gate = comparison.start === "1 ft" ? `${comparison.gate} from 1 ft` : comparison.gate;
  switch (find(comparison, family)) {
    case "tooFew":
      return `Cannot tell ${b.label} from ${a.label}, ${gate}: ${sizes(comparison)} never reach 1 in 20.`;
    case "shown": {
      const shift = saidOf(comparison, family)?.shift ?? 0;
      const [differs] = comparison.effectDiffers;
      const [least, most] = [differs?.levels[0], differs?.levels.at(-1)];
      if (!differs || !least || !most) return `${b.label} is ${quickerOrSlower(shift)} than ${a.label}, ${gate}.`;
      return `${b.label} is ${shift < 0 ? "quicker" : "slower"} than ${a.label}, ${gate}, by ${differs.by}: ${levelWords(least)}, ${levelWords(most)}.`;
    }
    case "notShown":
    case "measurement":
      return `No difference shown between ${a.label} and ${b.label}, ${gate}.`;
  }
}

function planWarnings(comparison: Pick<Comparison, "a" | "b" | "by" | "asPlanned">, plan: DrivenPlan | null): string[] {
  const driven = (id: number | null) => id !== null && (comparison.a.runs.includes(id) || comparison.b.runs.includes(id));
  // A plan to which none of these runs belongs is for another day and says nothing about them.
  if (!plan?.slots.some(driven))
    return [`no drawn order: the chance assumes that all orders were equally likely${comparison.by.length > 0 ? " within each part" : ""}`];
  const ids = [...comparison.a.runs, ...comparison.b.runs];
  const outside = ids.filter((id) => !plan.slots.includes(id));
  const labelOf = (id: number) => (comparison.a.runs.includes(id) ? comparison.a.label : comparison.b.label);
  const moved = plan.slots.filter((id, slot) => id !== null && ids.includes(id) && labelOf(id) !== plan.design.groups[plan.order[slot]]);
  const warnings: string[] = [];
  if (!comparison.asPlanned)
    warnings.push(
      `the present plan holds ${ids.length - outside.length} of these ${ids.length} runs, or one group alone: its orders decide nothing here`,
    );
  else if (outside.length > 0)
    warnings.push(`${runsWords(outside, "lies", "lie")} outside the plan: in every figure but the planned count`);
  if (moved.length > 0)
    warnings.push(
      `${runsWords(moved, "carries", "carry")} another label than the plan gave ${moved.length === 1 ? "its slot" : "their slots"}: left out of the planned count`,
    );
  const open = plan.slots.filter((id) => id === null).length;
  if (open > 0) warnings.push(`${open} of ${plan.slots.length} planned runs are not in: stopping early can make luck look like gain`);
  return warnings;
}

/** A few runs each with its flags; of many, each kind of flag with how many runs and the first of them. */
function flagsWords(flagged: readonly JudgedRun[]): string {
  if (flagged.length <= MOST_FLAGGED) return flagged.map((run) => `run ${run.id} (${flagList(run.flags)})`).join(", ");
  const kinds = new Map<string, number[]>();
  for (const { id, flags } of flagged) for (const kind of new Set(flags.map(flagWords))) kinds.set(kind, [...(kinds.get(kind) ?? []), id]);
  const told = [...kinds].sort((x, y) => y[1].length - x[1].length);
  return `${flagged.length} runs: ${told.map(([kind, ids]) => `${kind} ${ids.length} times (run ${ids.slice(0, 3).join(", ")}${ids.length > 3 ? " ..." : ""})`).join(", ")}`;
}

/** Runs of which the same is said, each sentence once. */
function alike<T extends { readonly run: number }>(runs: readonly T[], say: (run: T) => string): [words: string, ids: number[]][] {
  const by = new Map<string, number[]>();
  for (const run of runs) by.set(say(run), [...(by.get(say(run)) ?? []), run.run]);
  return [...by];
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
  if (flagged.length > 0) warnings.push(`flagged and in use: ${flagsWords(flagged)}`);
  return warnings;
}

function bestWarning(comparison: Pick<Comparison, "a" | "b">): string {
  const [na, nb] = [comparison.a.values.length, comparison.b.values.length];
  const more = na === nb ? "" : `, and ${nb > na ? comparison.b.label : comparison.a.label} had more tries`;
  return `best against best (${fixed(lessAsShown(comparison.b.best ?? 0, comparison.a.best ?? 0, 2))} s) hides the other runs: the best of n is the luckiest and gets better with n by luck alone${more}`;
}

/** Everything a reader must know before believing the figure. `level`: of the interval. */
export function warningsOf(
  comparison: Omit<Comparison, "headline" | "verdict" | "warnings" | "withAllRuns" | "said" | "subject">,
  runs: readonly [readonly JudgedRun[], readonly JudgedRun[]],
  plan: DrivenPlan | null,
  unequal: readonly string[],
  { family, level }: { readonly family: Family; readonly level: number },
): string[] {
  const warnings: string[] = [carsWarning(...runs, comparison.by), surfacesWarning(...runs)].flatMap((words) => words ?? []);
  const chance = deciding(comparison);
  if (chance && neverReaches(chance, family)) warnings.push(`too few runs: ${sizes(comparison)} never reach 1 in 20`);
  if (chance?.method === "sampled")
    warnings.push(`chance was counted on ${grouped(chance.count)} orders drawn at random: there are too many to count them all`);
  if (comparison.alone.length > 0)
    warnings.push(
      `${runsWords(comparison.alone, "has", "have")} no run of the other group with the same ${comparison.by.join(", ")}, and ${comparison.alone.length === 1 ? "counts" : "count"} for nothing here`,
    );
  const { interval } = comparison;
  if (interval && covers(interval) && interval.coverage < 1 - level - 1e-12)
    warnings.push(`the interval covers ${percent(interval.coverage)} only: so few runs allow no wider one`);
  if (comparison.tied) warnings.push("some times are equal: the interval covers at least what is stated");
  warnings.push(...unequal);
  const unarmed = comparison.setAside.filter((run) => run.unarmed).map(({ run }) => run);
  if (unarmed.length > 0)
    warnings.push(
      `${runsWords(unarmed, "was", "were")} driven without being armed, and set aside when stored: use again what was meant as a run`,
    );
  const aside = comparison.setAside.filter((run) => !run.unarmed);
  for (const [words, ids] of alike(
    aside,
    ({ afterTimeSeen, why }) => `${afterTimeSeen ? "after" : "before"} its time was seen: ${why || "no reason noted"}`,
  ))
    warnings.push(`${runsWords(ids, "was", "were")} set aside ${words}`);
  for (const [words, ids] of alike(comparison.notReached, ({ why }) => why))
    warnings.push(`${runsWords(ids, "has", "have")} no time here: ${words}`);
  warnings.push(...planWarnings(comparison, plan), ...runWarnings(runs.flat()));
  // This one is already in the interval, so it comes after those that are not.
  if (comparison.measurementBetweenGroups) warnings.push(comparison.measurementBetweenGroups.why);
  const { drift } = comparison;
  if (drift && Math.abs(drift.perRun) > drift.perRunPlusMinus95)
    warnings.push(
      `drift: each run ${fixed(Math.abs(drift.perRun), 3)} s ${drift.perRun > 0 ? "slower" : "quicker"} than the last; with that taken out ${quickerOrSlower(drift.adjustedDifference)}, ${reach({ ...drift, coverage: 0.95 })} (95 %)`,
    );
  warnings.push(bestWarning(comparison));
  if (family.pairs > 1)
    warnings.push(
      `${family.pairs} pairs are compared: the more pairs, the more often luck makes one look large: each chance is raised for that (by the method of Holm), and each interval is as wide as its pair was decided by`,
    );
  return warnings;
}
