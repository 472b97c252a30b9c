/** `runs`: the list. `show`: everything known of one run, or of all. */
import type { Command } from "commander";
import type { Figure } from "../../shared/align/calibration.ts";
import type { RunRow, RunView } from "../../shared/contract/contract.ts";
import { rowsOf, viewOf } from "../core/library/library.ts";
import { toldFlags } from "../core/library/told-flags.ts";
import { say, sayJson } from "./say.ts";
import { chosenRuns, withBook } from "./with-book.ts";

const seconds = (value: number | null, digits = 3) => (value === null ? "-" : value.toFixed(digits));

function rowLine(row: RunRow): string {
  const time = row.seconds === null ? "0-60 mph not reached" : `0-60 mph ${seconds(row.seconds)} s +/- ${seconds(row.plusMinus95)}`;
  const flags = row.flags.map(({ flag, overruled }) => (overruled === undefined ? flag : `(${flag})`)).join(", ");
  return [
    String(row.id).padStart(4),
    row.startedAt ?? "time unknown",
    time,
    row.label,
    flags,
    row.use ? "" : `set aside: ${row.note}`,
    row.final ? "" : "provisional",
  ]
    .filter((part) => part !== "")
    .join("  ");
}

function viewLines({ run, gates, slip, calibration }: RunView): string[] {
  const lines = [`Run ${run.id}  ${run.label}  ${run.startedAt ?? "time unknown"}${run.final ? "" : "  provisional"}`];
  for (const gate of gates) {
    const wheels = gate.wheelSeconds == null ? "" : `; by the driven wheels alone ${seconds(gate.wheelSeconds)} s`;
    const exit = gate.exitSpeedKmh === undefined ? "" : `, ${gate.exitSpeedKmh.toFixed(1)} km/h`;
    lines.push(
      `  ${gate.gate} (${gate.start}): ${gate.seconds === null ? `none: ${gate.why}` : `${seconds(gate.seconds)} s +/- ${seconds(gate.plusMinus95)}${exit}${wheels}`}`,
    );
  }
  const ratio = slip.peakSlipRatio === null ? "unknown" : slip.peakSlipRatio.toFixed(2);
  lines.push(
    `  Peak slip ${seconds(slip.peakSlipSpeedKmh, 1)} km/h, ratio ${ratio} ((wR - v) / v), ${seconds(slip.secondsAbove10Percent, 2)} s above 10 %`,
  );
  const { rollingRadiusM, gnssDelayS } = calibration;
  const figure = ({ value, from }: Figure, digits: number, unit: string) =>
    Number.isFinite(value) ? `${value.toFixed(digits)} ${unit} (${from})` : "not known yet";
  lines.push(`  Rolling radius ${figure(rollingRadiusM, 4, "m")}, receiver delay ${figure(gnssDelayS, 3, "s")}`);
  for (const { flag, why, overruled } of run.flags)
    lines.push(`  Flag ${flag}: ${why}${overruled === undefined ? "" : ` Overruled: ${overruled}`}`);
  for (const [key, value] of Object.entries(run.conditions)) lines.push(`  ${key}: ${value}`);
  return lines;
}

export function addRunsCommands(program: Command): void {
  program
    .command("runs")
    .description("list the runs of a book")
    .requiredOption("--book <file>", "the book")
    .action((options: { book: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        const rows = rowsOf(book);
        if (command.optsWithGlobals().json === true) return sayJson(rows.map(({ print: _print, ...row }) => row));
        return say(rows.length === 0 ? "No runs in this book yet." : rows.map(rowLine));
      }),
    );
  program
    .command("show")
    .argument("<run>", "a run's number, or all")
    .description("everything known of one run, or of all")
    .requiredOption("--book <file>", "the book")
    .action((run: string, options: { book: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        const told = toldFlags(book);
        const views = chosenRuns(book, run).map((id) => viewOf(book, id, told));
        if (command.optsWithGlobals().json === true) return sayJson(run === "all" ? views : views[0]);
        return say(views.flatMap((view, i) => (i === 0 ? viewLines(view) : ["", ...viewLines(view)])));
      }),
    );
}
