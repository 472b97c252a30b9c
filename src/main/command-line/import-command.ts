/** `import`: stores logs in the book, as fast as possible, in the same way as a live recording. */
import type { Command } from "commander";
import { hostClock, importLogs, openSetUp } from "../compose.ts";
import { launchTeam } from "../launch-team.ts";
import { breathe } from "../core/basics/breathe.ts";
import { ownBook } from "../core/basics/own-book.ts";
import { alignLogs } from "../core/deriving/rederive.ts";
import { viewOf } from "../core/library/library.ts";
import { wiringLine } from "../core/library/wiring-state.ts";
import { rollingWords } from "../../shared/launch/rolling-pulls.ts";
import { createProgress } from "./progress.ts";
import { readPairs } from "./read-pairs.ts";
import { say, sayJson, warn } from "./say.ts";
import { withBook } from "./with-book.ts";

interface ImportOptions {
  readonly setup: string;
  readonly book: string;
  readonly can?: string;
  readonly slcan?: string;
  readonly gnss: string;
  readonly label?: string;
  readonly condition?: readonly string[];
  readonly align?: boolean;
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
    .option("--condition <pairs...>", "conditions of all runs found: KEY=VALUE ..., e.g. surface=wet 'rear tyre pressure=210 kPa'")
    .option("--align", "move a receiver log whose speeds come seconds early or late onto the bus log")
    .action(async (options: ImportOptions, command: Command) => {
      const canFile = options.slcan ?? options.can;
      if (canFile === undefined || (options.slcan !== undefined && options.can !== undefined))
        throw new RangeError("Expected either --can LOG or --slcan LOG");
      const canFormat = options.slcan === undefined ? "candump" : "slcan";
      const conditions = readPairs(options.condition ?? []);
      const ready = openSetUp(options.setup);
      await withBook({ file: options.book, create: true, settles: true }, async (book) => {
        ownBook(book);
        const steps = importLogs({
          book,
          ready,
          canFile,
          canFormat,
          gnssFile: options.gnss,
          onNote: warn,
          label: options.label?.trim() ?? "",
          conditions,
          team: launchTeam(warn),
        });
        const progress = createProgress();
        // Ctrl-C ends the import in order: what was stored by then is closed and derived, and the book stays sound.
        let stopped = false;
        const stop = () => {
          stopped = true;
        };
        process.on("SIGINT", stop);
        let storedS = 0;
        let step = steps.next();
        for (; step.done !== true; step = steps.next(stopped ? "stop" : undefined)) {
          storedS = step.value.storedS;
          if (step.value.doing === "reading") progress.at(null, "Reading the logs");
          else if (step.value.doing === "storing")
            progress.at(null, `Storing: ${Math.floor(storedS / 60)} min ${Math.floor(storedS % 60)} s of the logs`);
          else progress.at(step.value.derived, "Timing the launches");
          await breathe();
        }
        process.off("SIGINT", stop);
        progress.end();
        if (stopped)
          warn(`Stopped: the book holds the first ${storedS.toFixed(0)} s of these logs; import them once more to have the rest`);
        const { recording } = step.value;
        const aligned =
          options.align === true ? alignLogs(book, recording, step.value, { utcUs: hostClock().utcUs(), team: launchTeam(warn) }) : null;
        const { runs, calibration, wiring, rolling } = aligned ?? step.value;
        if (Object.keys(conditions).length > 0)
          book.transaction(() => {
            for (const id of runs) book.setConditions(id, conditions, hostClock().utcUs());
          });
        const { notes } = book.calibration(calibration).calibration;
        for (const note of notes) warn(note);
        for (const fault of wiring) warn(wiringLine(recording, fault));
        const rolled = runs.length === 0 ? rollingWords(rolling) : null;
        if (rolled !== null) warn(rolled);
        for (const run of runs.map((id) => book.run(id)).filter(({ use }) => !use)) warn(`Run ${run.id} is set aside: ${run.note}`);
        if (command.optsWithGlobals().json === true)
          return sayJson<"import">({ recording, calibration, wiring, runs: runs.map((id) => viewOf(book, id)), rolling });
        return say(
          `Recording ${recording}: ${runs.length} ${runs.length === 1 ? "run" : "runs"} found${runs.length === 0 ? "" : ` (${runs.join(", ")})`}.`,
        );
      });
    });
}
