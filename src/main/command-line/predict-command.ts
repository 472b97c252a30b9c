/** `predict`: tries a change on the fitted car, in a simulation. Nothing is written to any controller. */
import type { Command } from "commander";
import type { PredictAnswer } from "../../shared/contract/tune-views.ts";
import { onlyRuns } from "../core/library/chosen-runs.ts";
import { predictBook } from "../core/judging/predict-book.ts";
import { readNumber } from "./read-number.ts";
import { say, sayJson } from "./say.ts";
import { WHERE, type WhereOption, withBook } from "./with-book.ts";

interface PredictOptions extends WhereOption {
  readonly book: string;
  readonly group: string;
  readonly gate?: string;
  readonly slip?: string;
  readonly every?: string;
  readonly late?: string;
  readonly surface?: string;
}

const s = ({ value, plusMinus95 }: { value: number; plusMinus95: number }) => `${value.toFixed(2)} ± ${plusMinus95.toFixed(2)} s`;

function answerLines({ words, group, gate, seconds, gainS, measuredS, why, notes, looks }: PredictAnswer): string[] {
  const measured = measuredS === null ? "" : ` Measured as driven: ${measuredS.toFixed(2)} s.`;
  const gained = gainS === null ? "" : ` Gain ${s(gainS)}.`;
  const told = seconds === null ? (why ?? "") : `${gate} in ${s(seconds)}.${gained}`;
  const rates = looks.map(
    ({ perSecond, seconds: took }) => `${perSecond} times a second ${took === null ? "never" : `${took.toFixed(2)} s`}`,
  );
  return [
    `${group}: ${words} ${told}${measured}`,
    ...notes.map((note) => `  Note: ${note}`),
    ...(rates.length === 0 ? [] : [`  Simulated with a control that looks: ${rates.join(", ")}.`]),
  ];
}

export function addPredictCommand(program: Command): void {
  program
    .command("predict")
    .description("a change of the control tried on the fitted car: a simulation, no measurement")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--group <label>", "the runs whose control is driven again")
    .option("--gate <name>", "what is timed; the plan's gate, else 0-60 mph")
    .option("--slip <ratio>", "slip that is held, 0.11 for 11 %")
    .option("--every <seconds>", "the control looks this often")
    .option("--late <seconds>", "from slip passing what is allowed to torque coming down")
    .option("--surface <name>", "another road, as noted with runs")
    .option(...WHERE)
    .action((options: PredictOptions, command: Command) => {
      const slip = readNumber("--slip", options.slip, 0.005, 1);
      const everyS = readNumber("--every", options.every, 0.0005, 2);
      const lateS = readNumber("--late", options.late, 0, 2);
      const surface = options.surface?.trim().toLowerCase();
      const trial = {
        ...(slip === undefined ? {} : { slip }),
        ...(everyS === undefined ? {} : { everyS }),
        ...(lateS === undefined ? {} : { lateS }),
        ...(surface === undefined ? {} : { surface }),
      };
      return withBook({ file: options.book }, async (book) => {
        const answer = await predictBook(onlyRuns(book, options.where), { group: options.group.trim(), gate: options.gate?.trim(), trial });
        return command.optsWithGlobals().json === true ? sayJson<"predict">(answer) : say(answerLines(answer));
      });
    });
}
