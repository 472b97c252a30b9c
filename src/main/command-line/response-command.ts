/** `response`: what each setting noted with the runs is worth, the next experiment, and which expected gains came true. */
import type { Command } from "commander";
import type { ResponseView } from "../../shared/contract/judge-views.ts";
import type { ExperimentKind } from "../../shared/judge/next-experiment.ts";
import { responseLines } from "../../shared/judge/response-words.ts";
import { settingOf, type SettingRange } from "../../shared/judge/settings.ts";
import { hostClock } from "../compose.ts";
import { drawExperiment, responseView } from "../core/judging/response-book.ts";
import { readBy } from "./compare-command.ts";
import { say, sayJson } from "./say.ts";
import { heldTerms, WHERE, type WhereOption, withBook } from "./with-book.ts";

interface ResponseOptions extends WhereOption {
  readonly book: string;
  readonly factor?: readonly string[];
  readonly gate?: string;
  readonly by?: string;
  readonly draw?: string;
  readonly level?: readonly string[];
  readonly usableLength?: string;
  readonly directions?: string;
  readonly wet?: boolean;
  readonly runOff?: string;
}

const KINDS: readonly ExperimentKind[] = ["screening", "composite", "confirm"];

/** "slip target=6 %..10 %". */
function readLevel(text: string): SettingRange {
  const [name, values] = [text.slice(0, text.indexOf("=")).trim(), text.slice(text.indexOf("=") + 1)];
  const [low, high] = values.split("..").map(settingOf);
  if (name === "" || !text.includes("=") || low == null || high == null || !(low.value < high.value))
    throw new RangeError(`Expected --level with NAME=LOW..HIGH, e.g. 'slip target=6..10 %', got ${JSON.stringify(text)}`);
  if (low.unit !== "" && low.unit !== high.unit)
    throw new RangeError(`--level ${JSON.stringify(text)}: both ends need one unit, got ${low.unit} and ${high.unit || "none"}`);
  return { name, unit: high.unit, low: low.value, high: high.value, levels: 2 };
}

function planOf({ usableLength, directions, wet, runOff }: ResponseOptions): Record<string, unknown> {
  return {
    ...(usableLength === undefined ? {} : { usableLengthM: Number(usableLength) }),
    ...(directions === undefined ? {} : { directions: Number(directions) }),
    ...(wet === true ? { wet } : {}),
    ...(runOff === undefined ? {} : { runOffNote: runOff }),
  };
}

function readKind(text: string): ExperimentKind {
  const kind = KINDS.find((known) => known === text);
  if (kind === undefined) throw new RangeError(`Expected --draw with ${KINDS.join(", ")}, got ${JSON.stringify(text)}`);
  return kind;
}

export function addResponseCommand(program: Command): void {
  program
    .command("response")
    .description("what each setting noted with the runs is worth, what to drive next, and which expected gains came true")
    .requiredOption("--book <file>", "the book, made where it is not there and a screening is drawn")
    .option("--factor <names...>", "settings to look at; unasked, those that differ")
    .option("--gate <name>", "what is looked at, else 0-60 mph")
    .option("--by <factors>", "look within day,surface,direction,car (any of them); none pools; unasked, what the runs differ in")
    .option("--draw <kind>", "make the next experiment the plan: screening, composite or confirm")
    .option("--level <ranges...>", "for screening: NAME=LOW..HIGH, e.g. 'slip target=6..10 %' 'gain=1..2'")
    .option("--usable-length <m>", "for a plan: its usableLengthM; else as in the plan before")
    .option("--directions <n>", "for a plan: 1 or 2")
    .option("--wet", "for a plan: it is wet")
    .option("--run-off <note>", "for a plan: what lies beyond the end")
    .option(...WHERE)
    .action((options: ResponseOptions, command: Command) => {
      const kind = options.draw === undefined ? null : readKind(options.draw);
      const by = readBy(options.by);
      return withBook({ file: options.book, create: kind === "screening" }, (book) => {
        const json = command.optsWithGlobals().json === true;
        const of = { gate: options.gate?.trim(), factors: options.factor, by, where: heldTerms(book, options) };
        if (kind !== null) {
          const levels = (options.level ?? []).map(readLevel);
          const { experiment, stored } = drawExperiment(book, { ...of, kind, levels, plan: planOf(options) }, hostClock().utcUs());
          if (json) return sayJson<"response">({ experiment, plan: stored.plan });
          return say([
            `${experiment.name}: ${experiment.why}.`,
            ...stored.plan.slots.map(({ slot, group, direction }) => `  ${String(slot + 1).padStart(3)}  ${group}, ${direction}`),
            `${stored.plan.slots.length} runs, order drawn at random; seed ${stored.plan.request.seed}. Label each run as the plan says; settings are read from the label.`,
          ]);
        }
        const view: ResponseView = responseView(book, of);
        if (json) return sayJson<"response">(view);
        const drawn = view.next === null ? [] : [`\`response --draw ${view.next.kind}\` draws its order.`];
        return say([...responseLines(view), ...drawn]);
      });
    });
}
