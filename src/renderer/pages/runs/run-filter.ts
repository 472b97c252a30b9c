/**
 * Runs found by words in the run's number, day, label, notes, conditions, flags, direction, time or state. Words that stand together in some runs find exactly
 * these; otherwise each must begin a word of the run. Without words every run is found. Pure.
 */
import type { RunRow } from "../../../shared/contract/contract.ts";
import { flagWords } from "../../../shared/run/flag-words.ts";
import { marked } from "../../../shared/kernel/shown-units.ts";
import { dayWord, heading, number } from "../../screen/format.ts";
import { said } from "../../screen/units.ts";

const plain = (text: string) => text.toLowerCase().trim().replaceAll(/\s+/g, " ");

/** As the shelf names the day, and as terms and the report write it. */
const daysOf = ({ day }: RunRow): string[] => (day === undefined ? [] : [`${dayWord(day)} ${day.slice(0, 4)}`, day]);

/** "surface=wet; day>=2031-05-04" are terms, asked for as on Compare; other words are sought. */
export const areTerms = (text: string): boolean => /[^\s=<>!]\s*(?:!=|[=<>])/.test(text);

/** A line for each text: words of two texts do not stand together. */
function textOf(run: RunRow): string {
  const flags = run.flags.flatMap((flag) => [flagWords(flag), said(marked(flag.why))]);
  const state = [run.use ? "" : "set aside", run.final ? "" : "provisional", flags.length > 0 ? "flagged" : ""];
  const time = run.seconds === null ? "not reached" : number(run.seconds, 2);
  const conditions = Object.entries(run.conditions ?? {}).map(([key, value]) => `${key} ${value}`);
  const people = [run.label, run.note, ...(run.noted ?? []), ...conditions];
  const texts = [`run ${run.id}`, ...daysOf(run), ...people, heading(run.courseDeg), time, ...flags, ...state];
  return texts.map(plain).join("\n");
}

/** Behind a letter or a figure no word begins, nor behind the point of a number. */
const BEGINNING = String.raw`(?<![\p{L}\p{M}\p{N}]|\p{N}[.,])`;
/** A sign begins anywhere, as in "8%", and so does a letter of a script that sets no spaces. */
const BEGINS_ANYWHERE = /^(?:[^\p{L}\p{N}]|[\p{sc=Han}\p{sc=Hiragana}\p{sc=Katakana}\p{sc=Thai}])/u;

/** Finds the words, given as `plain` gives them, where they begin a word. */
function beginningOf(words: string): RegExp {
  const literal = words.replaceAll(/[\\^$.*+?()[\]{}|/]/g, String.raw`\$&`);
  return new RegExp(`${BEGINS_ANYWHERE.test(words) ? "" : BEGINNING}${literal}`, "u");
}

export function foundRuns(runs: readonly RunRow[], words: string): readonly RunRow[] {
  const sought = plain(words);
  if (sought === "") return runs;
  const texts = runs.map(textOf);
  const having = (patterns: readonly RegExp[]) => runs.filter((_, i) => patterns.every((pattern) => pattern.test(texts[i] as string)));
  const together = having([beginningOf(sought)]);
  return together.length > 0 ? together : having(sought.split(" ").map(beginningOf));
}

export interface Found {
  /** All runs of the book. */
  readonly runs: readonly RunRow[];
  readonly found: readonly RunRow[];
  readonly sought: string;
  /** The run whose figure is shown; null where none is. */
  readonly shown: number | null;
}

/** How many were found. The run that is shown stays where none was found, or another was chosen since: then it is said that it is not one. */
export function foundWords({ runs, found, sought, shown }: Found): string {
  const other = shown === null || found.some(({ id }) => id === shown) ? "" : `; run ${shown} below is not one of them`;
  return `${found.length} of ${runs.length} runs have \u201c${sought}\u201d${other}`;
}
