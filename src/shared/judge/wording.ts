/** Numbers and sentences of a verdict, in the house's words. A missing figure is the word "unknown". */
import type { Interval } from "./judged-run.ts";

/** Fixed decimals with the true minus sign. */
export function fixed(value: number, decimals = 2): string {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

/** "97 %": coverage never rounded up to certainty. */
export function percent(share: number): string {
  const rounded = Math.round(share * 100);
  return rounded === 100 && share < 1 ? "99 %" : `${rounded} %`;
}

const NUMBER_WORDS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

export function numberWord(count: number): string {
  return NUMBER_WORDS[count] ?? String(count);
}

/** "run 3 is", "runs 1, 3 and 4 are": lowest first. */
export function runsWords(ids: readonly (number | null)[], one: string, more: string): string {
  const named = ids.filter((id) => id !== null).sort((x, y) => x - y);
  if (named.length === 1) return `run ${named[0]} ${one}`;
  return `runs ${named.slice(0, -1).join(", ")} and ${named.at(-1)} ${more}`;
}

/** A sentence with its stop, where it has none yet. */
export const stopped = (text: string) => (/[.!?]$/.test(text) ? text : `${text}.`);

/** Whole numbers with a space each three digits from five digits up, at which no line breaks. */
export function grouped(count: number): string {
  const text = String(count);
  return count < 10_000 ? text : text.replace(/\B(?=(\d{3})+$)/g, "\u00a0");
}

/** "0.65 s quicker" or "0.20 s slower": b against a. */
export function quickerOrSlower(difference: number, decimals = 2): string {
  return `${fixed(Math.abs(difference), decimals)} s ${difference < 0 ? "quicker" : "slower"}`;
}

/** Where an interval reaches, least first: "0.49 to 1.05 s", or "from 0.10 s slower to 0.20 quicker" when it holds 0. */
export function reach(interval: Interval): string {
  const { low, high } = interval;
  if (low <= 0 && high >= 0) return `from ${fixed(high)} s slower to ${fixed(-low)} quicker`;
  const ends = [Math.abs(low), Math.abs(high)].sort((x, y) => x - y);
  return `${fixed(ends[0] as number)} to ${fixed(ends[1] as number)} s`;
}

/** "if the setting did nothing, chance alone would part the groups this far in 2 of 70 orders". */
export function chanceWords(chance: {
  readonly extreme: number;
  readonly count: number;
  readonly planned: boolean;
  readonly sampled: boolean;
}): string {
  const which = chance.planned ? "the " : "";
  const tail = chance.planned ? " that this plan could have drawn" : "";
  const sampled = chance.sampled ? "sampled " : "";
  return `if the setting did nothing, chance alone would part the groups this far in ${grouped(chance.extreme)} of ${which}${grouped(chance.count)} ${sampled}orders${tail}`;
}

/** Labels without the words that all of them begin with: "traction control off", "traction control on" give "off", "on". One that would be empty leaves all whole. */
export function apart(labels: readonly string[]): string[] {
  const words = labels.map((label) => label.trim().split(/\s+/));
  let shared = 0;
  while (labels.length > 1 && words.every((own) => own.length > shared + 1 && own[shared] === words[0]?.[shared])) shared += 1;
  return words.map((own) => own.slice(shared).join(" "));
}
