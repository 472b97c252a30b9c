/** Numbers and sentences of a verdict. A missing figure is the word "unknown". */
import type { Interval } from "./judged-run.ts";

/** Fixed decimals with the true minus sign. */
export function fixed(value: number, decimals = 2): string {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

/** "97 %": coverage is never rounded up to 100 %. */
export function percent(share: number): string {
  const rounded = Math.round(share * 100);
  return rounded === 100 && share < 1 ? "99 %" : `${rounded} %`;
}

const NUMBER_WORDS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

export function numberWord(count: number): string {
  return NUMBER_WORDS[count] ?? String(count);
}

/** More runs than these are counted, with the first as examples: a list of hundreds is read by nobody. */
const MOST_NAMED = 8;

/** "1, 3, 4", or of many "1, 3, 4 ... (600 runs)". */
export function countedRuns(ids: readonly number[]): string {
  return ids.length <= MOST_NAMED ? ids.join(", ") : `${ids.slice(0, 3).join(", ")} ... (${ids.length} runs)`;
}

/** "run 3 is", "runs 1, 3 and 4 are", of many "600 runs (1, 3, 4 ...) are": lowest number first. */
export function runsWords(ids: readonly (number | null)[], one: string, more: string): string {
  const named = ids.filter((id) => id !== null).sort((x, y) => x - y);
  if (named.length === 1) return `run ${named[0]} ${one}`;
  if (named.length > MOST_NAMED) return `${named.length} runs (${named.slice(0, 3).join(", ")} ...) ${more}`;
  return `runs ${named.slice(0, -1).join(", ")} and ${named.at(-1)} ${more}`;
}

/** A sentence with a full stop added where it has none. */
export const stopped = (text: string) => (/[.!?]$/.test(text) ? text : `${text}.`);

/** Whole numbers with a no-break space every three digits, from five digits up. */
export function grouped(count: number): string {
  const text = String(count);
  return count < 10_000 ? text : text.replace(/\B(?=(\d{3})+$)/g, "\u00a0");
}

/** "0.65 s quicker" or "0.20 s slower": b against a. */
export function quickerOrSlower(difference: number, decimals = 2): string {
  return `${fixed(Math.abs(difference), decimals)} s ${difference < 0 ? "quicker" : "slower"}`;
}

/** False for an interval of one run against another: it covers nothing, and is none. */
export const covers = (interval: Interval): boolean => interval.coverage >= 0.005;

/** Both ends of an interval, smaller first: "0.49 to 1.05 s", or "from 0.10 s slower to 0.20 quicker" when it contains 0. */
export function reach(interval: Interval): string {
  const { low, high } = interval;
  if (low <= 0 && high >= 0) return `from ${fixed(high)} s slower to ${fixed(-low)} quicker`;
  const ends = [Math.abs(low), Math.abs(high)].sort((x, y) => x - y);
  return `${fixed(ends[0] as number)} to ${fixed(ends[1] as number)} s`;
}

/** Counts above this say less than what share they are. */
const MOST_COUNTED = 1e9;
const MILLION = 1e6;

/** A chance and what it was counted of. */
interface CountedChance {
  readonly pTwoSided: number;
  readonly extreme: number;
  readonly count: number;
  readonly planned: boolean;
  readonly sampled: boolean;
}

/** "2 of 70 orders": what a chance was counted of. */
export function ordersWords({ pTwoSided, extreme, count, planned, sampled }: CountedChance): string {
  const which = planned ? "the " : "";
  const tail = planned ? " that this plan could have drawn" : "";
  if (sampled)
    return `${grouped(extreme)} of ${which}${grouped(count)} sampled orders${tail}, counted as (${grouped(extreme)} + 1)/(${grouped(count)} + 1)`;
  if (count <= MOST_COUNTED) return `${grouped(extreme)} of ${which}${grouped(count)} orders${tail}`;
  if (pTwoSided < 1 / MILLION) return `fewer than 1 of a million orders${tail}`;
  return pTwoSided < 0.1
    ? `about 1 of ${grouped(Math.round(1 / pTwoSided))} orders${tail}`
    : `about ${Math.round(100 * pTwoSided)} of 100 orders${tail}`;
}

/** "if the setting did nothing, chance alone would give a difference this large in 2 of 70 orders". */
export const chanceWords = (chance: CountedChance): string =>
  `if the setting did nothing, chance alone would give a difference this large in ${ordersWords(chance)}`;

/** "p 0.029", "p under 0.001": a chance is never nothing. */
export const pWords = (p: number): string => (p < 0.001 ? "p under 0.001" : `p ${fixed(p, 3)}`);

/**
 * Labels without the words that all of them begin with: "traction control off", "traction control on" give "off", "on". If one would become
 * empty, all stay whole.
 */
export function apart(labels: readonly string[]): string[] {
  const words = labels.map((label) => label.trim().split(/\s+/));
  let shared = 0;
  while (labels.length > 1 && words.every((own) => own.length > shared + 1 && own[shared] === words[0]?.[shared])) shared += 1;
  return words.map((own) => own.slice(shared).join(" "));
}
