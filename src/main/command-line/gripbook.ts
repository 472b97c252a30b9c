/** `gripbook COMMAND`: the command line. Trouble is one line on stderr; exit 0 done, 2 bad input or usage, 1 could not. A reader that hangs up ends it quietly. */
import { Command, CommanderError } from "commander";
import { addBookCommands } from "./book-commands.ts";
import { addCaptureCommand } from "./capture-command.ts";
import { addDecodeCommands } from "./decode-commands.ts";
import { addEditCommands } from "./edit-commands.ts";
import { addExportCommand } from "./export-command.ts";
import { addGatesCommand } from "./gates-command.ts";
import { addImportCommand } from "./import-command.ts";
import { addPortsCommand } from "./ports-command.ts";
import { addRunsCommands } from "./runs-command.ts";
import { exitCodeOf, lineOf } from "../core/failure.ts";
import { warn } from "./say.ts";
import { addSimulateCommand } from "./simulate-command.ts";

function createProgram(): Command {
  const program = new Command("gripbook")
    .description("Times launches, measures slip, compares set-ups. Closed course or private ground with permission only.")
    .option("--json", "answer in JSON")
    .helpCommand(false)
    .exitOverride()
    .configureOutput({ writeErr: (text) => warn(text.trim().split("\n")[0] ?? ""), outputError: (text, write) => write(text) });
  for (const add of [
    addPortsCommand,
    addDecodeCommands,
    addSimulateCommand,
    addCaptureCommand,
    addImportCommand,
    addRunsCommands,
    addEditCommands,
    addExportCommand,
    addBookCommands,
    addGatesCommand,
  ]) {
    add(program);
  }
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
  await createProgram().parseAsync();
} catch (error) {
  if (error instanceof CommanderError) process.exitCode = error.exitCode === 0 ? 0 : 2;
  else {
    warn(lineOf(error));
    process.exitCode = exitCodeOf(error);
  }
}
