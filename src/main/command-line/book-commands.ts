/** `rederive`, `check`, `copy`, `merge`: the book as a whole. */
import type { Command } from "commander";
import type { Gate } from "../../shared/launch/gate.ts";
import { hostClock, openSetUp } from "../compose.ts";
import { launchTeam } from "../launch-team.ts";
import { openBook } from "../open-book.ts";
import { checkBook } from "../core/deriving/check-book.ts";
import { merge } from "../core/deriving/merge.ts";
import { gatesOf, timedGates } from "../core/judging/own-gates.ts";
import { ownBook } from "../core/basics/own-book.ts";
import { type Rederived, rederiveOne } from "../core/deriving/rederive.ts";
import { wiringLines, wiringOf } from "../core/library/wiring-state.ts";
import { type Book, BookError } from "../ports/book.ts";
import { createProgress } from "./progress.ts";
import { say, sayJson, warn } from "./say.ts";
import { withBook } from "./with-book.ts";

interface RederiveOptions {
  readonly book: string;
  readonly setup?: string;
  readonly recalibrate?: boolean;
  readonly align?: boolean;
}

function rederive(book: Book, options: RederiveOptions): Rederived[] {
  ownBook(book);
  book.mendSettings();
  for (const id of book.mendRuns())
    warn(`Run ${id}: its page was damaged; it is computed again, its label and review are the last that were kept of them: look at them`);
  for (const id of book.mendSamples()) warn(`Run ${id}: a page with its samples was damaged; they are computed again`);
  const request = {
    setUp: options.setup === undefined ? null : openSetUp(options.setup).stored,
    recalibrate: options.recalibrate === true,
    align: options.align === true,
    utcUs: hostClock().utcUs(),
    team: launchTeam(warn),
  };
  const recordings = book.recordings();
  const progress = createProgress();
  const derived = recordings.map((recording, done) =>
    rederiveOne(book, recording, request, (share) => progress.at((done + share) / recordings.length, "Deriving")),
  );
  progress.end();
  return derived;
}

function rederivedLine(one: Rederived): string {
  if ("notStored" in one) return `Recording ${one.recording}: ${one.notStored}`;
  return `Recording ${one.recording}: ${one.runs.length} runs derived, calibration ${one.calibration}.`;
}

/** Where the book's own gates are damaged, which `check` will report, runs are compared using the standard ones. */
function readableGates(book: Book): readonly Gate[] {
  try {
    return gatesOf(book);
  } catch (error) {
    if (error instanceof BookError && error.code === "damaged") return timedGates([]);
    throw error;
  }
}

export function addBookCommands(program: Command): void {
  program
    .command("rederive")
    .description("compute every run again from the journal; labels, notes and reviews stay")
    .requiredOption("--book <file>", "the book")
    .option("--setup <file>", "a corrected set-up, kept in the book from now on")
    .option("--recalibrate", "fit each recording's calibration anew")
    .option("--align", "move a receiver log whose speeds come seconds early or late onto the bus log, and fit anew")
    .action((options: RederiveOptions, command: Command) =>
      withBook({ file: options.book, rederives: true }, (book) => {
        const recordings = rederive(book, options);
        if (command.optsWithGlobals().json === true) sayJson<"rederive">({ recordings });
        else {
          for (const one of recordings)
            if ("lost" in one && one.lost.length > 0)
              warn(`Recording ${one.recording}: run ${one.lost.join(", ")} is no longer found; it is kept and flagged`);
          say(recordings.length === 0 ? "No recordings in this book." : recordings.map(rederivedLine));
        }
        for (const line of wiringLines(book)) warn(line);
        const left = recordings.filter((one) => "notStored" in one).map(({ recording }) => recording);
        if (left.length > 0) throw new Error(`Not derived: recording ${left.join(", ")}; give the same command with --recalibrate`);
      }),
    );
  program
    .command("check")
    .description("the book's integrity, holes in its journal, and that every run is what its journal gives")
    .requiredOption("--book <file>", "the book")
    .action((options: { book: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        const progress = createProgress();
        const result = checkBook(book, readableGates(book), (share) => progress.at(share, "Checking"), launchTeam(warn));
        progress.end();
        if (command.optsWithGlobals().json === true)
          sayJson<"check">({ sound: result.faults.length === 0, ...result, wiring: wiringOf(book) });
        else for (const line of [...result.faults, ...result.holes, ...wiringLines(book)]) say(line);
        if (result.faults.length > 0)
          throw new Error(`Book ${book.file}: ${result.faults.length} ${result.faults.length === 1 ? "fault" : "faults"} found`);
        if (command.optsWithGlobals().json !== true)
          say(`Sound: ${result.recordings} recordings, ${result.runs} runs; every final run is what its journal gives.`);
      }),
    );
  program
    .command("copy")
    .description("one sound file to keep or give away, also while recording")
    .requiredOption("--book <file>", "the book")
    .requiredOption("--out <file>", "the copy, not there yet")
    .action((options: { book: string; out: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        book.copyTo(options.out);
        if (command.optsWithGlobals().json === true) return sayJson<"copy">({ file: options.out });
        return say(`Copied to ${options.out}.`);
      }),
    );
  program
    .command("merge")
    .argument("<other>", "the book whose runs are taken")
    .description("another book's recordings and runs, without duplicates")
    .requiredOption("--book <file>", "the book that takes them")
    .action((other: string, options: { book: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        ownBook(book);
        const from = openBook({ file: other, create: false });
        try {
          const merged = merge(from.book, book, hostClock().utcUs());
          if (command.optsWithGlobals().json === true) return sayJson<"merge">(merged);
          return say(`Took ${merged.runs} runs of ${merged.recordings} recordings; ${merged.alreadyHere} were here already.`);
        } finally {
          from.book.close();
        }
      }),
    );
}
