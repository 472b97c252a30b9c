/**
 * `happened`: one plain text file to give to somebody who looks for a fault: this machine, the log, and the book's holes, flags and set-up.
 * No keys; positions only on request.
 */
import { dirname, resolve } from "node:path";
import type { Command } from "commander";
import { hostClock } from "../compose.ts";
import { softwareVersion } from "../own-version.ts";
import { makeFolder } from "../disk/make-folder.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { checkPlace, overWhen } from "../disk/place.ts";
import { bookLines, happenedText, unreadableBook } from "../happened-text.ts";
import { say, sayJson } from "./say.ts";
import { withBook } from "./with-book.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

interface HappenedOptions {
  readonly out: string;
  readonly book?: string;
  readonly withPositions?: boolean;
  readonly force?: boolean;
}

/** What cannot be read is mentioned in the file: it may be the very fault. */
async function bookOrWhyNot(file: string, withPositions: boolean): Promise<string[]> {
  try {
    return await withBook({ file }, (book) => bookLines(book, withPositions));
  } catch (error) {
    return unreadableBook(resolve(file), wordsOf(error));
  }
}

export function addHappenedCommand(program: Command): void {
  program
    .command("happened")
    .description("a plain text file to hand over when something went wrong: this machine, the log, a book's holes and set-up")
    .requiredOption("--out <file>", "the file; read it before you hand it over")
    .option("--book <file>", "the book that it happened with")
    .option("--with-positions", "where the car was, too; without it no position is in the file")
    .option("--force", "take the place of a file that is there; never of a book or a set-up")
    .action(async (options: HappenedOptions, command: Command) => {
      const withPositions = options.withPositions === true;
      const over = overWhen(options.force);
      checkPlace(options.out, over);
      const text = happenedText({
        software: softwareVersion(),
        utcUs: hostClock().utcUs(),
        withPositions,
        book: options.book === undefined ? [] : await bookOrWhyNot(options.book, withPositions),
      });
      makeFolder(dirname(options.out));
      writeNewFile({ file: options.out, over, mode: 0o600 }, [Buffer.from(text)]);
      if (command.optsWithGlobals().json === true) return sayJson<"happened">({ file: options.out, withPositions });
      return say(`Wrote ${options.out}${withPositions ? ", with positions" : ", without positions"}. Read it before you hand it over.`);
    });
}
