/** `capture`: records real ports without a screen, arms again after every run, and closes the recording at the end or on a signal. */
import type { Command } from "commander";
import type { CoreEvent } from "../../shared/contract/contract.ts";
import { drain } from "../../shared/kernel/drain.ts";
import { composeCapture } from "../compose.ts";
import { viewOf } from "../core/library/library.ts";
import { wiringOf } from "../core/library/wiring-state.ts";
import { createProgress } from "./progress.ts";
import { say, sayJson, warn } from "./say.ts";
import { createSilenceTeller } from "./silence-teller.ts";

const HEARTBEAT_MS = 5;

interface CaptureOptions {
  readonly setup: string;
  readonly book: string;
  readonly seconds?: string;
  readonly label?: string;
}

function readSeconds(text: string | undefined): number {
  if (text === undefined) return Number.POSITIVE_INFINITY;
  const seconds = Number(text);
  if (!(seconds > 0)) throw new RangeError(`Expected --seconds with a number over 0, got ${JSON.stringify(text)}`);
  return seconds;
}

/** Resolves after that long or on a signal, whichever comes first. */
function untilOver(seconds: number): Promise<void> {
  return new Promise((done) => {
    const timer = Number.isFinite(seconds) ? setTimeout(done, seconds * 1000) : undefined;
    for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) {
      process.once(signal, () => {
        clearTimeout(timer);
        done();
      });
    }
  });
}

export function addCaptureCommand(program: Command): void {
  program
    .command("capture")
    .description("record the set-up's ports without a screen; closed course or private ground with permission only")
    .requiredOption("--setup <file>", "the set-up, with its ports")
    .requiredOption("--book <file>", "the book, made where it is not there")
    .option("--seconds <n>", "end after so long; else on Ctrl-C")
    .option("--label <text>", "the group of the runs")
    .action(async (options: CaptureOptions, command: Command) => {
      const seconds = readSeconds(options.seconds);
      const json = command.optsWithGlobals().json === true;
      const told = new Map<string, string>();
      const final = new Set<number>();
      const tellSilence = createSilenceTeller(warn);
      const emit = (event: CoreEvent) => {
        if (event.event === "live") tellSilence(event);
        if (event.event === "notice") {
          if (event.text === null) told.delete(event.key);
          else if (told.get(event.key) !== event.text) {
            told.set(event.key, event.text);
            warn(event.text);
          }
        }
        if (event.event !== "runStored") return;
        if (event.run.final) final.add(event.run.id);
        else if (!json) say(`Run ${event.run.id}: 0-60 mph ${event.run.seconds?.toFixed(3) ?? "not reached"} (provisional)`);
      };
      const { core, book, opened, recovery } = composeCapture({
        bookFile: options.book,
        setUpFile: options.setup,
        emit,
        label: options.label?.trim() ?? "",
      });
      for (const line of opened) warn(line);
      const before = book.recordings().length;
      core.start();
      const heartbeat = setInterval(() => core.beat(), HEARTBEAT_MS);
      try {
        await untilOver(seconds);
      } finally {
        try {
          await core.close();
        } finally {
          clearInterval(heartbeat);
        }
      }
      // Recordings left by a process that died are derived now, so that no launch had to wait for it.
      const progress = createProgress();
      for (const line of drain(recovery.derive(), (share) => progress.at(share, "Deriving an interrupted recording"))) warn(line);
      progress.end();
      const runs = [...final].map((id) => viewOf(book, id));
      const wiring = wiringOf(book).filter(({ recording }) =>
        book
          .recordings()
          .slice(before)
          .some(({ id }) => id === recording),
      );
      const recorded = book.recordings().length > before;
      book.close();
      if (!recorded) throw new Error(`Nothing was recorded: ${[...told.values()].join("; ") || "no byte came from any port"}`);
      if (json) return sayJson<"capture">({ runs, wiring });
      return say(`Recording closed: ${runs.length} ${runs.length === 1 ? "run" : "runs"} stored.`);
    });
}
