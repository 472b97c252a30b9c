/** `gripbook COMMAND`: the command line. Trouble is one line on stderr; exit 0 done, 2 bad input or usage, 1 could not. A reader that hangs up ends it quietly. */
import { Command, CommanderError } from "commander";
import { exitCodeOf } from "../core/basics/failure.ts";
import { fail, warn } from "./say.ts";

type Add = (program: Command) => void;

/** Commands by name. Only the one that is asked for is loaded: a pipe through `decode` need not wait for a database and a serial driver. */
const COMMANDS: Readonly<Record<string, () => Promise<Add>>> = {
  ports: async () => (await import("./ports-command.ts")).addPortsCommand,
  "decode epochs": async () => (await import("./decode-commands.ts")).addDecodeCommands,
  simulate: async () => (await import("./simulate-command.ts")).addSimulateCommand,
  capture: async () => (await import("./capture-command.ts")).addCaptureCommand,
  import: async () => (await import("./import-command.ts")).addImportCommand,
  "runs show": async () => (await import("./runs-command.ts")).addRunsCommands,
  "label conditions review kept-file": async () => (await import("./edit-commands.ts")).addEditCommands,
  gates: async () => (await import("./gates-command.ts")).addGatesCommand,
  plan: async () => (await import("./plan-command.ts")).addPlanCommand,
  compare: async () => (await import("./compare-command.ts")).addCompareCommand,
  advise: async () => (await import("./advise-command.ts")).addAdviseCommand,
  predict: async () => (await import("./predict-command.ts")).addPredictCommand,
  notice: async () => (await import("./notice-command.ts")).addNoticeCommand,
  "rederive check copy merge": async () => (await import("./book-commands.ts")).addBookCommands,
  export: async () => (await import("./export-command.ts")).addExportCommand,
  happened: async () => (await import("./happened-command.ts")).addHappenedCommand,
  report: async () => (await import("./report-command.ts")).addReportCommand,
};

async function createProgram(asked: string | undefined): Promise<Command> {
  const program = new Command("gripbook")
    .description("Times launches, measures slip, compares set-ups. Closed course or private ground with permission only.")
    .option("--json", "answer in JSON")
    .helpCommand(false)
    .exitOverride()
    .configureOutput({ writeErr: warn, outputError: (text, write) => write(text) });
  const wanted = Object.keys(COMMANDS).filter((names) => asked !== undefined && names.split(" ").includes(asked));
  for (const names of wanted.length > 0 ? wanted : Object.keys(COMMANDS)) (await COMMANDS[names]?.())?.(program);
  // Every command takes --json, before or after its name.
  for (const command of program.commands) command.option("--json", "answer in JSON").exitOverride();
  return program;
}

process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  // The reader of a pipe has what it wanted: that is no failure.
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
