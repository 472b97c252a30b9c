/**
 * The quickest setting that a response model allows within what was tried: no further from the fitted runs than these lie themselves (the rule
 * against hidden extrapolation by leverage, common practice in regression). Never fails.
 */
import { expectedDifference, leverageOf, type ResponseModel, productOf } from "./response-model.ts";
import { roundedBetween, type SettingRange, settingsLabel } from "./settings.ts";

/** A value for every setting. */
export interface ChosenSetting {
  /** "slip target 8 %, gain 2" */
  readonly label: string;
  readonly values: readonly number[];
}

/** Steps of the search a factor; with more factors only low, middle and high. */
const FINE = 9;
const COARSE = 3;
const MOST_FINE = 3;

export const chosen = (ranges: readonly Pick<SettingRange, "name" | "unit">[], values: readonly number[]): ChosenSetting => ({
  label: settingsLabel(ranges.map(({ name, unit }, i) => [name, { value: values[i] as number, unit }] as const)),
  values,
});

const decoded = ({ low, high }: SettingRange, level: number) => (low + high) / 2 + (level * (high - low)) / 2;
const coded = ({ low, high }: SettingRange, value: number) => ((value - low) / (high - low)) * 2 - 1;

function grid(factors: number): number[][] {
  const count = factors > MOST_FINE ? COARSE : FINE;
  const levels = Array.from({ length: count }, (_, i) => -1 + (2 * i) / (count - 1));
  let rows: number[][] = [[]];
  for (let factor = 0; factor < factors; factor++) rows = rows.flatMap((row) => levels.map((level) => [...row, level]));
  return rows;
}

/** The least and the most that two runs or more had, of each factor: what was driven once is no ground for a proposal. */
function repeatedSpans(driven: readonly (readonly number[])[], usual: readonly number[]) {
  return usual.map((own, i) => {
    const all = driven.map((levels) => levels[i] as number);
    const runs = new Map<number, number>();
    for (const level of all) runs.set(level, (runs.get(level) ?? 0) + 1);
    const twice = [...runs].flatMap(([level, count]) => (count > 1 ? [level] : []));
    return twice.length < 2 ? { low: Math.min(...all), high: Math.max(...all) } : spanOf([...twice, own]);
  });
}
const spanOf = (levels: readonly number[]) => ({ low: Math.min(...levels), high: Math.max(...levels) });

/** "slip target 14 % was driven in one run alone and is not proposed" */
function onceWords(ranges: readonly SettingRange[], spans: ReturnType<typeof repeatedSpans>): string[] {
  return ranges.flatMap((range, i) => {
    const { low, high } = spans[i] as { low: number; high: number };
    const ends = [...(low > -1 ? [range.low] : []), ...(high < 1 ? [range.high] : [])];
    return ends.map((value) => `${chosen([range], [value]).label} was driven in one run alone and is not proposed`);
  });
}

/** Also what was tried and is not proposed, in words. A setting whose worth cannot be told stays as usual. */
export function bestWithin(model: ResponseModel, ranges: readonly SettingRange[], driven: readonly (readonly number[])[]) {
  const usual = usualOf(driven);
  const spans = repeatedSpans(driven, usual);
  const told = usual.map((_, i) =>
    model.terms.some(({ term, standardError }) => term.length === 1 && term[0] === i && standardError !== null),
  );
  const isOpen = (levels: readonly number[]) =>
    levels.every((level, i) => {
      const { low, high } = spans[i] as { low: number; high: number };
      return told[i] === true ? level >= low - 1e-9 && level <= high + 1e-9 : level === usual[i];
    });
  const far = Math.max(...driven.map((levels) => leverageOf(model, levels)));
  const near = model.fullRank ? grid(ranges.length) : [];
  const rounded = near
    .map((levels) => levels.map((level, i) => coded(ranges[i] as SettingRange, roundedOf(ranges[i] as SettingRange, level))))
    .filter((levels) => leverageOf(model, levels) <= far * (1 + 1e-9));
  const expected = (levels: readonly number[]) =>
    model.terms.reduce((sum, { term, estimate }) => sum + estimate * productOf(term, levels), 0);
  const best = [...driven, ...rounded]
    .filter(isOpen)
    .reduce((least, levels) => (expected(levels) < expected(least) - 1e-9 ? levels : least), usual);
  const { value, plusMinus95 } = expectedDifference(model, usual, best);
  const named = (levels: readonly number[]) =>
    chosen(
      ranges,
      levels.map((level, i) => Number(decoded(ranges[i] as SettingRange, level).toPrecision(12))),
    );
  return { usual: named(usual), best: { ...named(best), gainS: value, plusMinus95 }, notProposed: onceWords(ranges, spans) };
}

const roundedOf = (range: SettingRange, level: number) => roundedBetween(range.low, range.high, decoded(range, level));

/** The setting driven most, of equals the later one. */
function usualOf(driven: readonly (readonly number[])[]): readonly number[] {
  const counts = new Map<string, { levels: readonly number[]; runs: number }>();
  for (const levels of driven) {
    const key = JSON.stringify(levels);
    counts.set(key, { levels, runs: (counts.get(key)?.runs ?? 0) + 1 });
  }
  return [...counts.values()].reduce((most, one) => (one.runs >= most.runs ? one : most)).levels;
}
