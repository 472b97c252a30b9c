/** `gates`: the gates that a book times, and own gates. A wrong gate is refused with what is possible. */
import type { Command } from "commander";
import { hostClock } from "../compose.ts";
import { launchTeam } from "../launch-team.ts";
import { drain } from "../../shared/kernel/drain.ts";
import { gatesOf, setOwnGates, withGate } from "../core/judging/own-gates.ts";
import { readGate } from "../core/judging/read-gate.ts";
import { settleSteps } from "../core/deriving/settle.ts";
import type { Book } from "../ports/book.ts";
import { createProgress } from "./progress.ts";
import { say, sayJson, warn } from "./say.ts";
import { withBook } from "./with-book.ts";

/** Stored runs are timed by the new gate at once, so that they stay what their journal gives; not while another Gripbook records. */
function timeStoredRuns(book: Book): void {
  if (!book.own()) {
    warn(`Book ${book.file}: another Gripbook records into it; run rederive afterwards to time its runs by this gate`);
    return;
  }
  const progress = createProgress();
  const recordings = book.recordings();
  for (const [i, { id }] of recordings.entries()) {
    const steps = settleSteps(book, id, { gates: gatesOf(book), recalibrate: false, team: launchTeam(warn) });
    drain(steps, (share) => progress.at((i + share) / recordings.length, "Timing the stored runs"));
  }
  progress.end();
}

export function addGatesCommand(program: Command): void {
  program
    .command("gates")
    .description("the gates a book times; --add puts in one of your own and times the stored runs by it")
    .requiredOption("--book <file>", "the book")
    .option("--add <name>", "its name")
    .option("--from <speed>", "where it begins, e.g. '20 km/h'; '0 km/h' for a standing start")
    .option("--to <speed or length>", "where it ends, e.g. '80 km/h' or '100 m'")
    .action((options: { book: string; add?: string; from?: string; to?: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        if (options.add !== undefined) {
          const name = options.add.trim();
          if (name === "" || options.from === undefined || options.to === undefined)
            throw new RangeError("Expected --add NAME with --from and --to");
          const gate = readGate(name, [options.from, "--from"], [options.to, "--to"]);
          setOwnGates(book, withGate(book, gate), hostClock().utcUs());
          timeStoredRuns(book);
        }
        const gates = gatesOf(book);
        return command.optsWithGlobals().json === true ? sayJson<"gates">(gates) : say(gates.map((gate) => gate.name));
      }),
    );
}
