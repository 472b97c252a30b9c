/** `rederive`, `check`, `copy`, `merge`: the book as a whole. */
import type { Command } from "commander";
import type { Gate } from "../../shared/launch/gate.ts";
import { drain } from "../../shared/kernel/drain.ts";
import { hostClock, openSetUp } from "../compose.ts";
import { openBook } from "../open-book.ts";
import { checkBook } from "../core/deriving/check-book.ts";
import { merge } from "../core/deriving/merge.ts";
import { gatesOf, timedGates } from "../core/judging/own-gates.ts";
import { ownBook } from "../core/basics/own-book.ts";
import { settleSteps } from "../core/deriving/settle.ts";
import { type Book, BookError } from "../ports/book.ts";
import { createProgress } from "./progress.ts";
import { say, sayJson, warn } from "./say.ts";
import { withBook } from "./with-book.ts";

function rederive(book: Book, options: { setup?: string; recalibrate?: boolean }) {
  ownBook(book);
  book.mendSettings();
  const ready = options.setup === undefined ? null : openSetUp(options.setup);
  const recordings = book.recordings();
  const progress = createProgress();
  let done = 0;
  return recordings.map(({ id, setUp }) => {
    const corrected = ready !== null && JSON.stringify(ready.stored) !== JSON.stringify(setUp);
    const fitted = book.newestCalibration(id)?.calibration.rollingRadiusM.from === "calibrated";
    const settled = book.transaction(() => {
      if (ready !== null) book.replaceSetUp(id, ready.stored, hostClock().utcUs());
      // A calibration that was never fitted repeats the earlier set-up's figures: the corrected ones take their place.
      const steps = settleSteps(book, id, { gates: gatesOf(book), recalibrate: options.recalibrate === true || (corrected && !fitted) });
      return drain(steps, (share) => progress.at((done + share) / recordings.length, "Deriving"));
    });
    done += 1;
    if (done === recordings.length) progress.end();
    return { recording: id, ...settled, earlierFit: corrected && fitted && options.recalibrate !== true };
  });
}

/** Where the book's own gates are spoiled, as check will say, runs are held against the standard ones. */
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
    .action((options: { book: string; setup?: string; recalibrate?: boolean }, command: Command) =>
      withBook({ file: options.book, rederives: true }, (book) => {
        const recordings = rederive(book, options);
        for (const { recording, calibration, earlierFit } of recordings)
          if (earlierFit)
            warn(
              `Recording ${recording}: calibration ${calibration} was fitted with the earlier set-up; add --recalibrate where gear ratio, signals or signal file were corrected`,
            );
        if (command.optsWithGlobals().json === true) return sayJson({ recordings });
        for (const { recording, lost } of recordings)
          if (lost.length > 0) warn(`Recording ${recording}: run ${lost.join(", ")} is no longer found; it is kept and flagged`);
        return say(
          recordings.length === 0
            ? "No recordings in this book."
            : recordings.map(
                ({ recording, runs, calibration }) => `Recording ${recording}: ${runs.length} runs derived, calibration ${calibration}.`,
              ),
        );
      }),
    );
  program
    .command("check")
    .description("the book's integrity, holes in its journal, and that every run is what its journal gives")
    .requiredOption("--book <file>", "the book")
    .action((options: { book: string }, command: Command) =>
      withBook({ file: options.book }, (book) => {
        const progress = createProgress();
        const result = checkBook(book, readableGates(book), (share) => progress.at(share, "Checking"));
        progress.end();
        if (command.optsWithGlobals().json === true) sayJson({ sound: result.faults.length === 0, ...result });
        else for (const fault of result.faults) say(fault);
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
        if (command.optsWithGlobals().json === true) return sayJson({ file: options.out });
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
          if (command.optsWithGlobals().json === true) return sayJson(merged);
          return say(`Took ${merged.runs} runs of ${merged.recordings} recordings; ${merged.alreadyHere} were here already.`);
        } finally {
          from.book.close();
        }
      }),
    );
}
