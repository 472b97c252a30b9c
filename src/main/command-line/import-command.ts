/** `import`: logs into the book, as fast as it can, by the same way as a live recording. */
import type { Command } from "commander";
import { importLogs, openSetUp } from "../compose.ts";
import { viewOf } from "../core/library.ts";
import { say, sayJson, warn } from "./say.ts";
import { withBook } from "./with-book.ts";

interface ImportOptions {
  readonly setup: string;
  readonly book: string;
  readonly can?: string;
  readonly slcan?: string;
  readonly gnss: string;
  readonly label?: string;
}

export function addImportCommand(program: Command): void {
  program
    .command("import")
    .description("logs into the book: the same runs as if they had been driven live")
    .requiredOption("--setup <file>", "the set-up; its ports are not used")
    .requiredOption("--book <file>", "the book, made where it is not there")
    .option("--can <log>", "bus log as candump writes it, (sec.micros) can0 ID#HEX")
    .option("--slcan <log>", "adapter log, (sec.micros) and the raw line")
    .requiredOption("--gnss <log>", "receiver log, (sec.micros) and the sentence")
    .option("--label <text>", "the group of all runs found; else each is named by its switch")
    .action(async (options: ImportOptions, command: Command) => {
      const canFile = options.slcan ?? options.can;
      if (canFile === undefined || (options.slcan !== undefined && options.can !== undefined)) throw new RangeError("Expected either --can LOG or --slcan LOG");
      const canFormat = options.slcan === undefined ? "candump" : "slcan";
      const ready = openSetUp(options.setup);
      await withBook({ file: options.book, create: true }, (book) => {
        if (!book.own()) throw new RangeError(`Book ${options.book}: another Gripbook records into it; close that one or name another book`);
        const steps = importLogs({ book, ready, canFile, canFormat, gnssFile: options.gnss, onNote: warn, label: options.label?.trim() ?? "" });
        let step = steps.next();
        while (step.done !== true) step = steps.next();
        const { recording, runs, calibration } = step.value;
        const { notes } = book.calibration(calibration).calibration;
        for (const note of notes) warn(note);
        if (command.optsWithGlobals().json === true) return sayJson({ recording, calibration, runs: runs.map((id) => viewOf(book, id)) });
        return say(`Recording ${recording}: ${runs.length} ${runs.length === 1 ? "run" : "runs"} found${runs.length === 0 ? "" : ` (${runs.join(", ")})`}.`);
      });
    });
}
