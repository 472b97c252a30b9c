/** `plan`: shows the present test plan and its state, or draws one from a file (docs/judging-plan.md) and stores it. `gates`: own gates. */
import type { Command } from "commander";
import type { PlanView } from "../../shared/contract/judge-views.ts";
import { PlanError } from "../../shared/judge/plan.ts";
import { lengthWords } from "../../shared/judge/usable-length.ts";
import { parseJson } from "../../shared/kernel/parse-json.ts";
import { flagWords } from "../../shared/run/flag-words.ts";
import type { Flag } from "../../shared/run/run.ts";
import { hostClock } from "../compose.ts";
import { planView } from "../core/judging/plan-view.ts";
import { usePlan } from "../core/judging/test-plan.ts";
import { toldFlags } from "../core/library/told-flags.ts";
import type { StoredRun } from "../ports/book.ts";
import { MOST_TEXT_BYTES, readPlainFile } from "../disk/read-file.ts";
import { say, sayJson } from "./say.ts";
import { withBook } from "./with-book.ts";

function readJson(file: string): unknown {
  const text = readPlainFile({ file, what: "Plan" }, MOST_TEXT_BYTES).toString("utf8");
  try {
    return parseJson(text);
  } catch (cause) {
    throw new PlanError(`Plan ${file}: no JSON at ${(cause as Error).message}; correct it there`, { cause });
  }
}

/** What keeps a slot's run from being counted like the others, or warns of it; empty where nothing does. */
function asideWords(run: StoredRun | undefined, flags: readonly Flag[]): string {
  const words = [
    ...(run?.use === false ? [`set aside: ${run.note}`] : []),
    ...flags.filter(({ overruled }) => overruled === undefined).map(flagWords),
  ];
  return words.length === 0 ? "" : `, ${words.join(", ")}`;
}

function planLines({ plan, progress, seconds, outside }: PlanView, told: (run: number) => string): string[] {
  if (plan === null || progress === null)
    return ["No plan in this book. Draw one with --set FILE; docs/judging-plan.md says what the file holds."];
  const { request, choice, length, slots } = plan;
  const orders = choice.arrangements === null ? "" : ` of ${choice.arrangements} orders, smallest chance 2 in ${choice.arrangements}`;
  const lines = slots.map(({ group, direction }, slot) => {
    const run = progress.filled[slot];
    const time = seconds[slot];
    return `  ${String(slot + 1).padStart(3)}  ${group}, ${direction}${run === null || run === undefined ? "" : `: run ${run}, ${time == null ? "no time" : `${time.toFixed(3)} s`}${told(run)}`}`;
  });
  return [
    `${request.runsPerGroup} runs a group, ${request.gates.join(", ")}, drawn at random (${request.orders})${orders}; seed ${request.seed}.`,
    `${lengthWords(length)}.`,
    ...lines,
    ...outside.map(({ run, why }) => `  Run ${run} fills no slot: ${why}.`),
    `${progress.words.charAt(0).toUpperCase()}${progress.words.slice(1)}.`,
  ];
}

export function addPlanCommand(program: Command): void {
  program
    .command("plan")
    .description("the test plan: random order of the runs, what is driven next; --set FILE draws and keeps one")
    .requiredOption("--book <file>", "the book, made where it is not there and a plan is set")
    .option("--set <file>", "groups, runs, gates, usable length ... (JSON)")
    .action((options: { book: string; set?: string }, command: Command) => {
      const raw = options.set === undefined ? null : readJson(options.set);
      return withBook({ file: options.book, create: options.set !== undefined }, (book) => {
        const utcUs = hostClock().utcUs();
        if (options.set !== undefined) usePlan(book, raw, utcUs);
        const view = planView(book, { measured: {}, utcUs });
        if (command.optsWithGlobals().json !== true) {
          const [runs, flagged] = [new Map(book.runs().map((run) => [run.id, run])), toldFlags(book)];
          return say(
            planLines(view, (id) => {
              const run = runs.get(id);
              return asideWords(run, run === undefined ? [] : flagged(run));
            }),
          );
        }
        const { id, plan, progress, seconds, outside } = view;
        return sayJson<"plan">({ id, plan, progress, seconds, outside });
      });
    });
}
