/** `compare`: the verdict on two groups of runs, or on every pair of several. Differences are b - a: negative means that b is quicker. */
import type { Command } from "commander";
import type { GroupComparison } from "../../shared/judge/compare.ts";
import { type Comparison, STRATA_FACTORS, type StrataFactor } from "../../shared/judge/judged-run.ts";
import type { StartName } from "../../shared/launch/gate-result.ts";
import { compareBook } from "../core/judging/compare-book.ts";
import { quickerOrSlower } from "../../shared/judge/wording.ts";
import type { JsonAnswers } from "./json-answers.ts";
import { say, sayJson } from "./say.ts";
import { heldTerms, WHERE, type WhereOption, withBook } from "./with-book.ts";

const STARTS: readonly StartName[] = ["movement", "1 ft", "entry"];

interface CompareOptions extends WhereOption {
  readonly book: string;
  readonly a?: string;
  readonly b?: string;
  readonly group?: readonly string[];
  readonly gate?: string;
  readonly start?: string;
  readonly by?: string;
}

/** The groups named; undefined leaves the choice to the book. */
function namedGroups({ a, b, group }: CompareOptions): readonly string[] | undefined {
  const named = [...(a === undefined ? [] : [a]), ...(b === undefined ? [] : [b]), ...(group ?? [])].map((label) => label.trim());
  if (named.length === 0) return undefined;
  if (named.length === 1) throw new RangeError("Expected two groups: --a LABEL --b LABEL, or --group LABEL for each of more");
  const twice = named.find((label, i) => named.indexOf(label) !== i);
  if (twice !== undefined) throw new RangeError(`Expected different groups, got ${JSON.stringify(twice)} twice`);
  return named;
}

function readStart(text: string | undefined): StartName | undefined {
  if (text === undefined) return undefined;
  const start = STARTS.find((known) => known === text);
  if (start === undefined) throw new RangeError(`Expected --start with ${STARTS.join(", ")}, got ${JSON.stringify(text)}`);
  return start;
}

/** "day,surface": what runs are compared within; "none" pools them all. */
export function readBy(text: string | undefined): readonly StrataFactor[] | undefined {
  if (text === undefined) return undefined;
  if (text.trim() === "none") return [];
  const named = text.split(",").map((word) => word.trim());
  for (const word of named)
    if (!STRATA_FACTORS.some((factor) => factor === word))
      throw new RangeError(`Expected --by with ${STRATA_FACTORS.join(", ")}, separated by commas, or none, got ${JSON.stringify(word)}`);
  return STRATA_FACTORS.filter((factor) => named.includes(factor));
}

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
/** A line of more is read by nobody; --json has them all. */
const MOST_VALUES = 24;
const seconds = (value: number | null) => (value === null ? "unknown" : `${value.toFixed(2)} s`);

function pairLines({ a, b, headline, verdict, subject, within, strata, withAllRuns, warnings }: Comparison): string[] {
  const group = ({ label, values, best, median, mean }: Comparison["a"]) => {
    const told = values.slice(0, MOST_VALUES).map((value) => value.toFixed(3));
    const rest = values.length > MOST_VALUES ? ` ... (${values.length} runs)` : "";
    return `  ${label}: ${told.join(", ")}${rest} s; best ${seconds(best)}, median ${seconds(median)}, mean ${seconds(mean)}`;
  };
  return [
    headline,
    capital(verdict),
    ...(subject === null ? [] : [`Compared: ${subject}.`]),
    ...(within === null ? [] : [`${capital(within)}.`]),
    ...(withAllRuns === null ? [] : [`With all runs in: ${withAllRuns.verdict}`]),
    group(a),
    group(b),
    ...strata.map((stratum) => `  ${stratum.name}: ${stratum.a} and ${stratum.b} runs, ${quickerOrSlower(stratum.hodgesLehmann)}`),
    ...warnings.map((warning) => `  Note: ${warning}`),
  ];
}

function groupsJson({ gate, start, groups, pairs, verdict }: GroupComparison): JsonAnswers["compare"] {
  const [only] = pairs;
  return only !== undefined && pairs.length === 1 ? only : { gate, start, groups, pairs, verdict };
}

export function addCompareCommand(program: Command): void {
  program
    .command("compare")
    .description("whether one group of runs is quicker than another, how sure that is, and what speaks against it")
    .requiredOption("--book <file>", "the book")
    .option("--a <label>", "the first group")
    .option("--b <label>", "the second; differences are b - a")
    .option("--group <labels...>", "more groups than two: every pair, its chance raised for their number (method of Holm)")
    .option("--gate <name>", "what is compared; the plan's gate, else 0-60 mph")
    .option("--start <name>", "movement, 1 ft or entry")
    .option("--by <factors>", "compare within day,surface,direction,car,plan (any of them); none pools; unasked, what the runs differ in")
    .option(...WHERE)
    .action((options: CompareOptions, command: Command) =>
      withBook({ file: options.book }, (book) => {
        const where = heldTerms(book, options);
        const { result } = compareBook(book, {
          groups: namedGroups(options),
          gate: options.gate?.trim(),
          start: readStart(options.start),
          by: readBy(options.by),
          where,
        });
        if (command.optsWithGlobals().json === true) return sayJson<"compare">(groupsJson(result));
        const only = where === undefined ? [] : [`Only runs with ${where.join(" and ")}.`];
        return say([...only, ...result.pairs.flatMap((pair, i) => (i === 0 ? pairLines(pair) : ["", ...pairLines(pair)]))]);
      }),
    );
}
