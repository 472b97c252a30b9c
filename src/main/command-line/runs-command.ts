/** `runs`: the list. `show`: everything known of one run, or of all. */
import type { Command } from "commander";
import type { Figure } from "../../shared/align/calibration.ts";
import type { RunRow, RunView } from "../../shared/contract/contract.ts";
import { ofWord } from "../../shared/kernel/by-word.ts";
import { kmhIn, marked } from "../../shared/kernel/shown-units.ts";
import { flagWhy, flagWords } from "../../shared/run/flag-words.ts";
import { momentWords } from "../../shared/run/moments.ts";
import { chosenRuns } from "../core/library/chosen-runs.ts";
import { FILE_CONDITION } from "../core/library/kept-files.ts";
import { rowsOf, viewOf } from "../core/library/library.ts";
import { runFacts } from "../core/library/run-facts.ts";
import { runMoments } from "../core/library/run-moments.ts";
import { toldFlags } from "../core/library/told-flags.ts";
import { wiringLines } from "../core/library/wiring-state.ts";
import { say, sayJson, units, warn } from "./say.ts";
import { isOneNumber, someRuns, WHERE, type WhereOption, withBook } from "./with-book.ts";

interface ListOptions extends WhereOption {
  readonly book: string;
  readonly columns?: readonly string[];
}

type Facts = ReturnType<typeof runFacts>[number];

/** More columns than these fit no line: --columns chooses. */
const MOST_COLUMNS = 4;
/** Of one run alone, or too long for a column. */
const OWN = ["driver's note", "before driving", FILE_CONDITION];

/** Conditions in which runs differ. */
function differing(noted: readonly Facts["conditions"][]): string[] {
  const keys = [...new Set(noted.flatMap((conditions) => Object.keys(conditions)))].filter((key) => !OWN.includes(key)).sort();
  return keys.filter((key) => new Set(noted.map((conditions) => ofWord(conditions, key))).size > 1).slice(0, MOST_COLUMNS);
}

const seconds = (value: number | null, digits = 3) => (value === null ? "-" : value.toFixed(digits));

function rowLine(row: RunRow, conditions: Facts["conditions"], keys: readonly string[]): string {
  const time = row.seconds === null ? "0-60 mph not reached" : `0-60 mph ${seconds(row.seconds)} s +/- ${seconds(row.plusMinus95)}`;
  const flags = row.flags.map((one) => (one.overruled === undefined ? flagWords(one) : `(${flagWords(one)})`)).join(", ");
  return [
    String(row.id).padStart(4),
    row.startedAt ?? "time unknown",
    time,
    row.label,
    ...keys.map((key) => `${key}: ${ofWord(conditions, key) ?? "-"}`),
    flags,
    row.use ? "" : `set aside: ${row.note}`,
    row.final ? "" : "provisional",
  ]
    .filter((part) => part !== "")
    .join("  ");
}

function viewLines({ run, gates, slip, moments, calibration }: RunView): string[] {
  const { perKmh, speed } = units();
  const lines = [`Run ${run.id}  ${run.label}  ${run.startedAt ?? "time unknown"}${run.final ? "" : "  provisional"}`];
  if (!run.use) lines.push(`  Set aside: ${run.note}`);
  else if (run.note !== "") lines.push(`  Note: ${run.note}`);
  for (const gate of gates) {
    const wheels = gate.wheelSeconds == null ? "" : `; by the driven wheels alone ${seconds(gate.wheelSeconds)} s`;
    const exit = gate.exitSpeedKmh === undefined ? "" : `, ${(gate.exitSpeedKmh * perKmh).toFixed(1)} ${speed}`;
    lines.push(
      `  ${gate.gate} (${gate.start}): ${gate.seconds === null ? marked(gate.why ?? "Not reached") : `${seconds(gate.seconds)} s +/- ${seconds(gate.plusMinus95)}${exit}${wheels}`}`,
    );
  }
  const ratio = slip.peakSlipRatio === null ? "unknown" : `${(100 * slip.peakSlipRatio).toFixed(0)} %`;
  lines.push(
    `  Peak slip ${seconds(kmhIn(units(), slip.peakSlipSpeedKmh), 1)} ${speed}, slip ratio ${ratio}, ${seconds(slip.secondsAbove10Percent, 2)} s above 10 %`,
  );
  const { rollingRadiusM, gnssDelayS } = calibration;
  const figure = ({ value, from }: Figure, digits: number, unit: string) =>
    Number.isFinite(value) ? `${value.toFixed(digits)} ${unit} (${from})` : "not known yet";
  lines.push(`  Rolling radius ${figure(rollingRadiusM, 4, "m")}, receiver delay ${figure(gnssDelayS, 3, "s")}`);
  for (const flag of run.flags)
    lines.push(
      `  Flag ${flagWords(flag)}: ${flagWhy(flag, slip, units())}${flag.overruled === undefined ? "" : ` Overruled: ${flag.overruled}`}`,
    );
  for (const moment of moments) lines.push(`  ${momentWords(moment)}`);
  for (const [key, value] of Object.entries(run.conditions)) lines.push(`  ${key}: ${value}`);
  return lines;
}

export function addRunsCommands(program: Command): void {
  program
    .command("runs")
    .description("list the runs of a book")
    .requiredOption("--book <file>", "the book")
    .option("--columns <keys...>", "conditions to show beside each run; unasked, those in which the listed runs differ")
    .option(...WHERE)
    .action((options: ListOptions, command: Command) =>
      withBook({ file: options.book }, (book) => {
        for (const line of wiringLines(book)) warn(line);
        const listed = new Set(chosenRuns(book, "all", options.where));
        const rows = rowsOf(book).filter((row) => listed.has(row.id));
        const facts = new Map(runFacts(book, book.runs()).map((run) => [run.id, run]));
        if (command.optsWithGlobals().json === true)
          return sayJson<"runs">(
            rows.map(({ print: _print, ...row }) => {
              const { day, car, conditions, measured } = facts.get(row.id) as Facts;
              return { ...row, day, car, conditions, measured };
            }),
          );
        if (rows.length === 0)
          return say(options.where === undefined ? "No runs in this book yet." : `No run has ${options.where.join(" and ")}.`);
        const noted = rows.map((row) => (facts.get(row.id) as Facts).conditions);
        const keys = options.columns?.map((key) => key.trim()) ?? differing(noted);
        return say(rows.map((row, i) => rowLine(row, noted[i] as Facts["conditions"], keys)));
      }),
    );
  program
    .command("show")
    .argument("<runs>", "a run's number, several as in 1-12,15, or all")
    .description("everything known of one run, of several or of all")
    .requiredOption("--book <file>", "the book")
    .option(...WHERE)
    .action((run: string, options: WhereOption & { book: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        for (const line of wiringLines(book)) warn(line);
        const [told, moments] = [toldFlags(book), runMoments(book)];
        const views = someRuns(book, run, options).map((id) => viewOf(book, id, told, moments));
        if (command.optsWithGlobals().json === true) return sayJson<"show">(isOneNumber(run) ? (views[0] as RunView) : views);
        return say(views.flatMap((view, i) => (i === 0 ? viewLines(view) : ["", ...viewLines(view)])));
      }),
    );
}
