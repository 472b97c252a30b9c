/** `simulate`: a day with the simulated car, as the files that real devices and people would leave. */
import { join, resolve } from "node:path";
import type { Command } from "commander";
import { DAY_FILES, type DayFile, writeDay } from "../../shared/simulation/write-day.ts";
import { parseJson } from "../../shared/kernel/parse-json.ts";
import { readPlan } from "../../shared/simulation/read-plan.ts";
import { makeFolder } from "../disk/make-folder.ts";
import { beginFile, type NewFile } from "../disk/new-file.ts";
import { checkPlace, overWhen } from "../disk/place.ts";
import { MOST_TEXT_BYTES, readPlainFile } from "../disk/read-file.ts";
import { say, sayJson } from "./say.ts";

const DEFAULT_SEED = 1;

function planFrom(file: string, seed: number) {
  const text = readPlainFile({ file, what: "Plan" }, MOST_TEXT_BYTES).toString("utf8");
  let json: unknown;
  try {
    json = parseJson(text);
  } catch (cause) {
    throw new RangeError(`Plan ${file}: no JSON at ${(cause as Error).message}; correct it there`, { cause });
  }
  return readPlan(json, seed);
}

export function addSimulateCommand(program: Command): void {
  program
    .command("simulate")
    .description("a day's drive by the simulated car: logs, set-up, signal file and the truth")
    .requiredOption("--out <folder>", "where the files go")
    .option("--seed <n>", "a whole number; the same seed gives the same bytes", String(DEFAULT_SEED))
    .option("--plan <file>", "what is driven, by which receiver and adapter it is seen (JSON)")
    .option("--force", "take the place of files that are there; never of a book or a set-up")
    .action((options: { out: string; seed: string; plan?: string; force?: boolean }, command: Command) => {
      const seed = Number(options.seed);
      if (!Number.isInteger(seed) || seed < 0)
        throw new RangeError(`Expected --seed with a whole number from 0, got ${JSON.stringify(options.seed)}`);
      const plan = options.plan === undefined ? {} : { plan: planFrom(options.plan, seed) };
      makeFolder(options.out);
      const placed = (file: DayFile) => ({ file: join(options.out, file), over: overWhen(options.force), another: "folder" }) as const;
      for (const name of DAY_FILES) checkPlace(placed(name).file, placed(name).over, "folder");
      const open = new Map<DayFile, NewFile>();
      try {
        for (const { file, text } of writeDay({ seed, ...plan })) {
          const into = open.get(file) ?? beginFile(placed(file));
          open.set(file, into);
          into.write(Buffer.from(text, "latin1"));
        }
        for (const file of open.values()) file.keep();
      } finally {
        for (const file of open.values()) file.drop();
      }
      const files = [...open.keys()].map((file) => resolve(options.out, file));
      if (command.optsWithGlobals().json === true) return sayJson<"simulate">({ seed, files });
      return say(`Wrote ${[...open.keys()].join(", ")} to ${options.out}.`);
    });
}
