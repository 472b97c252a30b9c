/** What people noted with two groups of runs: which condition is the subject of the comparison, and which others differ although they should not. Nothing noted, nothing said. */
import { ofWord } from "../kernel/by-word.ts";
import { mean } from "./counting.ts";
import type { JudgedRun, StrataFactor } from "./judged-run.ts";
import { countedRuns, fixed } from "./wording.ts";

/** Shares of a value that differ by more are mentioned. */
const MOST_SHARE_GAP = 0.25;
/** Means of a number that differ by more of its scatter are mentioned: "medium" by Cohen (1988), from memory. */
const MOST_MEAN_GAP = 0.5;
/** Values told of each group; of more, how many there are. */
const MOST_VALUES = 4;

const keysOf = (runs: readonly JudgedRun[]) => [...new Set(runs.flatMap((run) => Object.keys(run.conditions)))].sort();
const notedValue = (run: JudgedRun, key: string) => ofWord(run.conditions, key)?.trim().toLowerCase() || null;
/** A change in the controller, "8 -> 6 %": noted at the first run after it. */
const isChange = (runs: readonly JudgedRun[], key: string) =>
  /^chang/i.test(key) || runs.some((run) => notedValue(run, key)?.includes("->"));

function valuesOf(runs: readonly JudgedRun[], key: string): Map<string, number> {
  const counts = new Map<string, number>();
  for (const run of runs) {
    const value = notedValue(run, key) ?? "not noted";
    counts.set(value, (counts.get(value) ?? 0) + 1);
  }
  return counts;
}

/** Whole words of a text. */
const wordsOf = (text: string) =>
  ` ${text
    .toLowerCase()
    .replace(/[^\p{L}\p{N}.]+/gu, " ")
    .trim()} `;

/** A condition that each group has one value of, another than the other group's, and that their labels name by its own name or by those values. */
function isSubject(a: readonly JudgedRun[], b: readonly JudgedRun[], key: string): boolean {
  const [of_a, of_b] = [[...valuesOf(a, key).keys()], [...valuesOf(b, key).keys()]];
  if (of_a.length !== 1 || of_b.length !== 1 || of_a[0] === of_b[0]) return false;
  const labels = [a, b].map((runs) => wordsOf(runs[0]?.label ?? ""));
  if (labels.some((label) => label.includes(wordsOf(key)))) return true;
  return [of_a, of_b].every(([value], i) => labels[i]?.includes(wordsOf(value ?? "")));
}

/** "slip target: 8 % in off, 6 % in on; changed ...": what is compared, by what was noted. Null: nothing noted says it. */
export function subjectOf(a: readonly JudgedRun[], b: readonly JudgedRun[]): string | null {
  const label = (runs: readonly JudgedRun[]) => runs[0]?.label;
  const both = [...a, ...b];
  const constant = keysOf(both)
    .filter((key) => !isChange(both, key) && isSubject(a, b, key))
    .map((key) => `${key} ${[...valuesOf(a, key).keys()][0]} in ${label(a)}, ${[...valuesOf(b, key).keys()][0]} in ${label(b)}`);
  return constant.length === 0 ? null : constant.join("; ");
}

/** The number that every value begins with, under one unit; null where they are no numbers. */
function numbersOf(runs: readonly JudgedRun[], key: string): { readonly values: readonly number[]; readonly unit: string } | null {
  const texts = runs.flatMap((run) => notedValue(run, key) ?? []);
  const read = texts.map((text) => /^([-+]?\d+(?:\.\d+)?)\s*(\D*)$/.exec(text));
  const units = new Set(read.map((match) => match?.[2]?.trim()));
  if (texts.length === 0 || read.includes(null) || units.size > 1) return null;
  return { values: read.map((match) => Number(match?.[1])), unit: [...units][0] ?? "" };
}

function squares(values: readonly number[]): number {
  const centre = mean(values);
  return values.reduce((sum, value) => sum + (value - centre) ** 2, 0);
}

function numberWarning(a: readonly JudgedRun[], b: readonly JudgedRun[], key: string): string | null | undefined {
  const both = numbersOf([...a, ...b], key);
  const [of_a, of_b] = [numbersOf(a, key), numbersOf(b, key)];
  if (both === null || of_a === null || of_b === null) return undefined;
  const scatter = Math.sqrt((squares(of_a.values) + squares(of_b.values)) / Math.max(1, both.values.length - 2));
  const [mean_a, mean_b] = [mean(of_a.values), mean(of_b.values)];
  if (Math.abs(mean_a - mean_b) <= MOST_MEAN_GAP * scatter + 1e-9) return null;
  const unit = both.unit === "" ? "" : ` ${both.unit}`;
  return `unequal ${key}: on average ${fixed(mean_a)}${unit} in ${a[0]?.label}, ${fixed(mean_b)}${unit} in ${b[0]?.label}`;
}

function shareWarning(a: readonly JudgedRun[], b: readonly JudgedRun[], key: string): string | null {
  const [in_a, in_b] = [valuesOf(a, key), valuesOf(b, key)];
  const values = [...new Set([...in_a.keys(), ...in_b.keys()])];
  const apart = values.reduce((sum, v) => sum + Math.abs((in_a.get(v) ?? 0) / a.length - (in_b.get(v) ?? 0) / b.length), 0) / 2;
  if (apart <= MOST_SHARE_GAP) return null;
  const words = (counts: Map<string, number>) => {
    const told = [...counts].sort((x, y) => y[1] - x[1]);
    const rest = told.length > MOST_VALUES ? ` and ${told.length - MOST_VALUES} other values` : "";
    return `${told
      .slice(0, MOST_VALUES)
      .map(([value, count]) => `${value} ${count} times`)
      .join(", ")}${rest}`;
  };
  return `unequal ${key}: ${words(in_a)} in ${a[0]?.label}, ${words(in_b)} in ${b[0]?.label}`;
}

/** Noted conditions that differ between the groups and are neither the subject nor what runs were compared within. */
export function notedWarnings(a: readonly JudgedRun[], b: readonly JudgedRun[], by: readonly StrataFactor[]): string[] {
  const both = [...a, ...b];
  return keysOf(both).flatMap((key) => {
    if (isChange(both, key) || isSubject(a, b, key) || by.some((factor) => factor === key.toLowerCase())) return [];
    const asNumber = numberWarning(a, b, key);
    const warning = asNumber === undefined ? shareWarning(a, b, key) : asNumber;
    return warning === null ? [] : [warning];
  });
}

/** What was changed in the controller, as noted, and before which runs: "slip target 8 -> 6 % before run 2, 4 (on)". Not a warning: it says what is compared. */
export function changeNotes(runs: readonly JudgedRun[]): string[] {
  const before = new Map<string, number[]>();
  for (const run of runs)
    for (const [key, value] of Object.entries(run.conditions)) {
      if (!value.includes("->")) continue;
      const change = `${key.replace(/^changed\s+/i, "")} ${value}`;
      before.set(change, [...(before.get(change) ?? []), run.id]);
    }
  return [...before].map(([change, ids]) => `changed in the controller: ${change} before run ${countedRuns(ids)} (${runs[0]?.label})`);
}
