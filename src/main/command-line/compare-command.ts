/** `compare`: the verdict on two groups of runs, or on every pair of more. Differences are b - a: negative means b is quicker. */
import type { Command } from "commander";
import type { GroupComparison } from "../../shared/judge/compare.ts";
import type { Comparison } from "../../shared/judge/judged-run.ts";
import type { StartName } from "../../shared/launch/gate-result.ts";
import { compareBook } from "../core/judging/compare-book.ts";
import { say, sayJson } from "./say.ts";
import { withBook } from "./with-book.ts";

const STARTS: readonly StartName[] = ["movement", "1 ft", "entry"];

interface CompareOptions {
  readonly book: string;
  readonly a?: string;
  readonly b?: string;
  readonly group?: readonly string[];
  readonly gate?: string;
  readonly start?: string;
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

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
const seconds = (value: number | null) => (value === null ? "unknown" : `${value.toFixed(2)} s`);

function pairLines({ a, b, headline, verdict, withAllRuns, warnings }: Comparison): string[] {
  const group = ({ label, values, best, median, mean }: Comparison["a"]) =>
    `  ${label}: ${values.map((value) => value.toFixed(3)).join(", ")} s; best ${seconds(best)}, median ${seconds(median)}, mean ${seconds(mean)}`;
  return [
    headline,
    capital(verdict),
    ...(withAllRuns === null ? [] : [`With all runs in: ${withAllRuns.verdict}`]),
    group(a),
    group(b),
    ...warnings.map((warning) => `  Note: ${warning}`),
  ];
}

function groupsJson({ gate, start, groups, pairs, verdict }: GroupComparison): unknown {
  return pairs.length === 1 ? pairs[0] : { gate, start, groups, pairs, verdict };
}

export function addCompareCommand(program: Command): void {
  program
    .command("compare")
    .description("whether one group of runs is quicker than another, how sure that is, and what speaks against it")
    .requiredOption("--book <file>", "the book")
    .option("--a <label>", "the first group")
    .option("--b <label>", "the second; differences are b - a")
    .option("--group <labels...>", "more groups than two: every pair, Holm-adjusted")
    .option("--gate <name>", "what is compared; the plan's gate, else 0-60 mph")
    .option("--start <name>", "movement, 1 ft or entry")
    .action((options: CompareOptions, command: Command) =>
      withBook({ file: options.book }, (book) => {
        const { result } = compareBook(book, { groups: namedGroups(options), gate: options.gate?.trim(), start: readStart(options.start) });
        if (command.optsWithGlobals().json === true) return sayJson(groupsJson(result));
        return say(result.pairs.flatMap((pair, i) => (i === 0 ? pairLines(pair) : ["", ...pairLines(pair)])));
      }),
    );
}
