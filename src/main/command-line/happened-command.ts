/** `happened`: one plain text file to hand to somebody who looks for a fault: this machine, the log, and the book's holes, flags and set-up. No keys; positions on request alone. */
import { statfsSync, statSync } from "node:fs";
import { arch, cpus, release, totalmem } from "node:os";
import { dirname, resolve } from "node:path";
import type { Command } from "commander";
import { withoutPositions, withoutSecrets } from "../../shared/kernel/hand-over.ts";
import { oneLine } from "../../shared/kernel/one-line.ts";
import { hostClock, softwareVersion } from "../compose.ts";
import { whatHappened } from "../core/library/what-happened.ts";
import { homeFolder } from "../disk/data-folder.ts";
import { newestLogLines } from "../disk/log.ts";
import { makeFolder } from "../disk/make-folder.ts";
import { writeNewFile } from "../disk/new-file.ts";
import { checkPlace, overWhen } from "../disk/place.ts";
import { say, sayJson } from "./say.ts";
import { withBook } from "./with-book.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

/** Some days of driving. */
const MOST_LOG_LINES = 2_000;
const GIGABYTE = 1e9;

interface HappenedOptions {
  readonly out: string;
  readonly book?: string;
  readonly withPositions?: boolean;
  readonly force?: boolean;
}

function machineLines(): string[] {
  return [
    `Gripbook ${softwareVersion()}, written ${new Date(hostClock().utcUs() / 1000).toISOString()}`,
    `${process.platform} ${release()}, ${arch()}, ${cpus().length} processors, ${(totalmem() / GIGABYTE).toFixed(1)} GB of memory, Node ${process.version}`,
  ];
}

function bookLines(file: string, withPositions: boolean): Promise<string[]> {
  return withBook({ file }, (book) => {
    const disk = statfsSync(dirname(book.file));
    const free = `${((disk.bavail * disk.bsize) / GIGABYTE).toFixed(1)} GB free beside it`;
    return [`Book ${book.file}, ${(statSync(book.file).size / 1e6).toFixed(1)} MB, ${free}`, ...whatHappened(book, withPositions)];
  });
}

/** What cannot be read is said in the file: that it cannot may be what is looked for. */
async function bookOrWhyNot(file: string, withPositions: boolean): Promise<string[]> {
  try {
    return await bookLines(file, withPositions);
  } catch (error) {
    return [`Book ${resolve(file)} could not be read: ${wordsOf(error)}`];
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
      const home = homeFolder({ environment: process.env });
      const lines = [
        ...machineLines(),
        `Positions: ${withPositions ? "with them" : "left out"}. Keys are left out, and your home folder is ~.`,
        "",
        ...(options.book === undefined ? [] : [...(await bookOrWhyNot(options.book, withPositions)), ""]),
        "The log, oldest first:",
        ...newestLogLines(MOST_LOG_LINES),
      ];
      const told = lines.map((line) => {
        const indent = /^ */.exec(line)?.[0] ?? "";
        const plain = withoutSecrets(`${indent}${oneLine(line)}`, home);
        return `${withPositions ? plain : withoutPositions(plain)}\n`;
      });
      makeFolder(dirname(options.out));
      writeNewFile({ file: options.out, over, mode: 0o600 }, [Buffer.from(told.join(""))]);
      if (command.optsWithGlobals().json === true) return sayJson({ file: options.out, withPositions });
      return say(`Wrote ${options.out}${withPositions ? ", with positions" : ", without positions"}. Read it before you hand it over.`);
    });
}
