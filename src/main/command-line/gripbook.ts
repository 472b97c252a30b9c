/**
 * `gripbook COMMAND`: the command line. Errors are one line on stderr; exit 0 done, 2 bad input or usage, 1 could not. When the reader of
 * its output closes, it ends without an error.
 */
import { Command, CommanderError } from "commander";
import { keepCompiled } from "../disk/keep-compiled.ts";
import { ALL_UNITS, KMH_AND_M, type Units, unitsNamed } from "../../shared/kernel/shown-units.ts";
import { exitCodeOf } from "../core/basics/failure.ts";
import { softwareVersion } from "../own-version.ts";
import { fail, useUnits, warn } from "./say.ts";

type Add = (program: Command) => void;

/** Commands by name. Only the one asked for is loaded: `decode` in a pipe need not wait for a database and a serial driver. */
const COMMANDS: Readonly<Record<string, () => Promise<Add>>> = {
  ports: async () => (await import("./ports-command.ts")).addPortsCommand,
  "decode epochs": async () => (await import("./decode-commands.ts")).addDecodeCommands,
  simulate: async () => (await import("./simulate-command.ts")).addSimulateCommand,
  capture: async () => (await import("./capture-command.ts")).addCaptureCommand,
  import: async () => (await import("./import-command.ts")).addImportCommand,
  "runs show": async () => (await import("./runs-command.ts")).addRunsCommands,
  "label conditions review kept-file": async () => (await import("./edit-commands.ts")).addEditCommands,
  table: async () => (await import("./table-command.ts")).addTableCommand,
  gates: async () => (await import("./gates-command.ts")).addGatesCommand,
  plan: async () => (await import("./plan-command.ts")).addPlanCommand,
  compare: async () => (await import("./compare-command.ts")).addCompareCommand,
  response: async () => (await import("./response-command.ts")).addResponseCommand,
  advise: async () => (await import("./advise-command.ts")).addAdviseCommand,
  predict: async () => (await import("./predict-command.ts")).addPredictCommand,
  notice: async () => (await import("./notice-command.ts")).addNoticeCommand,
  "rederive check copy merge": async () => (await import("./book-commands.ts")).addBookCommands,
  export: async () => (await import("./export-command.ts")).addExportCommand,
  happened: async () => (await import("./happened-command.ts")).addHappenedCommand,
  report: async () => (await import("./report-command.ts")).addReportCommand,
  completion: async () => (await import("./completion-command.ts")).addCompletionCommand,
};
/** It lists all others. */
const NEEDS_ALL = "completion";

const JSON_OPTION = ["--json", "answer in JSON"] as const;
const UNITS_OPTION = ["--units <name>", "speeds and lengths in km/h and m (km/h), or mph and ft (mph)"] as const;

function readUnits(text: unknown): Units {
  const named = text === undefined ? KMH_AND_M : unitsNamed(text);
  if (named === undefined)
    throw new RangeError(`Expected --units with ${ALL_UNITS.map(({ name }) => name).join(" or ")}, got ${JSON.stringify(text)}`);
  return named;
}

/** A needed option that is missing was perhaps mistyped: what is unknown is named first. */
function mistypedFirst(text: string, given: readonly string[]): string {
  const unknown = /required option/.test(text) ? given.find((word) => /^--?[a-z]/i.test(word)) : undefined;
  return unknown === undefined ? text : text.replace("error: ", `error: unknown option '${unknown}', and `);
}

async function createProgram(asked: string | undefined): Promise<Command> {
  const program = new Command("gripbook")
    .description("Times launches, measures slip, compares set-ups. Closed course or private ground with permission only.")
    .version(softwareVersion())
    .addHelpText("after", "\nWithout a command, `gripbook` starts with its screens (in a clone: npm start).")
    .helpCommand(false);
  const wanted = Object.keys(COMMANDS).filter((names) => asked !== undefined && asked !== NEEDS_ALL && names.split(" ").includes(asked));
  for (const names of wanted.length > 0 ? wanted : Object.keys(COMMANDS)) (await COMMANDS[names]?.())?.(program);
  // Every command takes --json and --units, before or after its name.
  for (const command of [program, ...program.commands])
    command
      .option(...JSON_OPTION)
      .option(...UNITS_OPTION)
      .configureOutput({ writeErr: warn, outputError: (text, write) => write(mistypedFirst(text, command.args)) })
      .exitOverride();
  program.hook("preAction", (_, command) => useUnits(readUnits(command.optsWithGlobals().units)));
  return program;
}

keepCompiled();
process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  // The reader of the pipe has what it wanted: that is no failure.
  if (error.code === "EPIPE") process.exit(0);
  throw error;
});

try {
  const program = await createProgram(process.argv.slice(2).find((word) => !word.startsWith("-")));
  await program.parseAsync();
} catch (error) {
  if (error instanceof CommanderError) process.exitCode = error.exitCode === 0 ? 0 : 2;
  else {
    fail(error);
    process.exitCode = exitCodeOf(error);
  }
}
