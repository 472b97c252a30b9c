/** `advise`: what to change next, why, and the expected gain. Nothing is written to any controller. */
import type { Command } from "commander";
import { fixed, stopped } from "../../shared/judge/wording.ts";
import type { AdvisedGroup } from "../../shared/tune/advised-group.ts";
import { controlSentence } from "../../shared/tune/control-words.ts";
import type { GripCurve } from "../../shared/tune/grip-curve.ts";
import { CAUSE_WORDS, toldLosses } from "../../shared/tune/loss-words.ts";
import type { TuneAnswer } from "../../shared/tune/tune-answer.ts";
import { adviseBook } from "../core/judging/advise-book.ts";
import { say, sayJson } from "./say.ts";
import { heldTerms, WHERE, type WhereOption, withBook } from "./with-book.ts";

interface AdviseOptions extends WhereOption {
  readonly book: string;
  readonly group?: readonly string[];
  readonly gate?: string;
}

const share = (value: number, half: number) => `${(100 * value).toFixed(1)} ± ${(100 * half).toFixed(1)} %`;

function gripText({ surface, bestSlip, peakFriction, why }: GripCurve): string {
  const road = surface ?? "surface not noted";
  if (bestSlip === null || peakFriction === null) return `Grip, ${road}: ${why ?? "unknown"}`;
  return `Grip, ${road}: best slip ${share(bestSlip.value, bestSlip.plusMinus95)}, peak friction ${peakFriction.value.toFixed(3)} ± ${peakFriction.plusMinus95.toFixed(3)}.`;
}

function groupText(group: AdvisedGroup): string {
  const { label, gate, seconds, quickest, why, atLeast } = group;
  const took = seconds === null ? "no time" : `${fixed(seconds)} s`;
  const told = toldLosses(group)
    .map(({ cause, seconds: lost, plusMinus95 }) => `${CAUSE_WORDS[cause]} ${fixed(lost)} ± ${fixed(plusMinus95)} s`)
    .join(", ");
  if (quickest !== null)
    return `${label}, ${gate}: ${took}; quickest possible ${fixed(quickest.value)} ± ${fixed(quickest.plusMinus95)} s. Lost: ${told}.`;
  const least = atLeast === null ? "" : ` Quickest possible at most ${fixed(atLeast.quickestAtMost)} s; lost at least: ${told}.`;
  return `${label}, ${gate}: ${stopped(why === null ? took : `${took}; ${why}`)}${least}`;
}

function controlLines({ control }: AdvisedGroup): string[] {
  const words = controlSentence(control);
  return words === null ? [] : [`  ${words}`];
}

function answerLines({ grip, groups, advice, silent }: TuneAnswer): string[] {
  const numbered = advice.map(({ group, words }, i) => `${i + 1}. ${group}: ${words}`);
  return [
    ...grip.map(gripText),
    ...groups.flatMap((group) => [groupText(group), ...controlLines(group)]),
    ...(numbered.length === 0 ? ["No advice."] : ["Advice, one change at a time:", ...numbered]),
    ...silent.map((words) => `  Note: ${words}`),
  ];
}

export function addAdviseCommand(program: Command): void {
  program
    .command("advise")
    .description("where the time went, and what to change next; nothing is changed by it")
    .requiredOption("--book <file>", "the book")
    .option("--group <labels...>", "groups of runs; all of them unless named")
    .option("--gate <name>", "what is timed, from speed to speed; the plan's gate, else 0-60 mph")
    .option(...WHERE)
    .action((options: AdviseOptions, command: Command) =>
      withBook({ file: options.book }, async (book) => {
        const answer = await adviseBook(book, {
          groups: options.group?.map((label) => label.trim()),
          gate: options.gate?.trim(),
          where: heldTerms(book, options),
        });
        return command.optsWithGlobals().json === true ? sayJson<"advise">(answer) : say(answerLines(answer));
      }),
    );
}
