/**
 * The text that a person hands over when something went wrong: this machine, a book's holes, flags and set-up, and the log. Keys are left out, and so are
 * positions unless they are asked for. What cannot be read is said in the text: that it cannot may be what is looked for.
 */
import { statfsSync, statSync } from "node:fs";
import { arch, cpus, release, totalmem } from "node:os";
import { dirname } from "node:path";
import { withoutPositions, withoutSecrets } from "../shared/kernel/hand-over.ts";
import { oneLine } from "../shared/kernel/one-line.ts";
import { whatHappened } from "./core/library/what-happened.ts";
import { homeFolder } from "./disk/data-folder.ts";
import { newestLogLines } from "./disk/log.ts";
import type { Book } from "./ports/book.ts";

/** Some days of driving. */
const MOST_LOG_LINES = 2_000;
const GIGABYTE = 1e9;

export interface HappenedAsked {
  /** The version of Gripbook. */
  readonly software: string;
  /** Wall clock, microseconds since 1970. */
  readonly utcUs: number;
  readonly withPositions: boolean;
  /** Lines about a book; empty where none is meant. */
  readonly book: readonly string[];
}

export function bookLines(book: Book, withPositions: boolean): string[] {
  const disk = statfsSync(dirname(book.file));
  const free = `${((disk.bavail * disk.bsize) / GIGABYTE).toFixed(1)} GB free beside it`;
  return [`Book ${book.file}, ${(statSync(book.file).size / 1e6).toFixed(1)} MB, ${free}`, ...whatHappened(book, withPositions)];
}

export const unreadableBook = (file: string, why: string) => [`Book ${file} could not be read: ${why}`];

export function happenedText({ software, utcUs, withPositions, book }: HappenedAsked): string {
  const home = homeFolder({ environment: process.env });
  const lines = [
    `Gripbook ${software}, written ${new Date(utcUs / 1000).toISOString()}`,
    `${process.platform} ${release()}, ${arch()}, ${cpus().length} processors, ${(totalmem() / GIGABYTE).toFixed(1)} GB of memory, Node ${process.version}`,
    `Positions: ${withPositions ? "with them" : "left out"}. Keys are left out, and your home folder is ~.`,
    "",
    ...(book.length === 0 ? [] : [...book, ""]),
    "The log, oldest first:",
    ...newestLogLines(MOST_LOG_LINES),
  ];
  return lines
    .map((line) => {
      const indent = /^ */.exec(line)?.[0] ?? "";
      const plain = withoutSecrets(`${indent}${oneLine(line)}`, home);
      return `${withPositions ? plain : withoutPositions(plain)}\n`;
    })
    .join("");
}
