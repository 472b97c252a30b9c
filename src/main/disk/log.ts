/**
 * The log of each process, in Gripbook's data folder: one line an event with time and level, two files of at most a megabyte a process
 * (electron-log). Keys and positions are removed. A log that cannot be written is reported once and stops nothing.
 */
import { accessSync, constants, mkdirSync, readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import type electronLog from "electron-log/node";
import { withoutPositions, withoutSecrets } from "../../shared/kernel/hand-over.ts";
import { oneLine } from "../../shared/kernel/one-line.ts";
import { dataFolder, homeFolder } from "./data-folder.ts";
import { codeOf, FileRefused } from "./file-error.ts";
import { readPlainFile } from "./read-file.ts";

/** The process that writes; each has its own file. */
export type LogPart = "start" | "web" | "network" | "window" | "measuring" | "command";
export type LogLevel = "error" | "warn" | "info";

const MOST_BYTES = 1_000_000;
const OWNER_ONLY = { file: 0o600, folder: 0o700 } as const;

const logFolder = (environment = process.env): string => join(dataFolder({ platform: process.platform, environment }), "log");

type Logger = Pick<typeof electronLog, LogLevel>;

/** Opened with the first line: most commands write nothing. */
function openLogger(part: LogPart, folder: string): Logger {
  mkdirSync(folder, { recursive: true, mode: OWNER_ONLY.folder });
  accessSync(folder, constants.W_OK);
  const logger = (createRequire(import.meta.url)("electron-log/node") as typeof electronLog).create({ logId: part });
  logger.transports.console.level = false;
  const { file } = logger.transports;
  file.level = "info";
  file.resolvePathFn = () => join(folder, `${part}.log`);
  file.maxSize = MOST_BYTES;
  file.format = "{iso} {level} {text}";
  file.writeOptions = { flag: "a", mode: OWNER_ONLY.file, encoding: "utf8" };
  return logger;
}

export function createLog(part: LogPart, folder = logFolder()): (level: LogLevel, text: string) => void {
  let logger: Logger | null = null;
  let given = false;
  return (level, text) => {
    if (given) return;
    try {
      logger ??= openLogger(part, folder);
      logger[level](`${part} ${process.pid} ${withoutPositions(withoutSecrets(oneLine(text), homeFolder({ environment: process.env })))}`);
    } catch (error) {
      given = true;
      process.stderr.write(`gripbook: no log is kept in ${oneLine(folder)} (${codeOf(error)}); make that folder writable\n`);
    }
  };
}

/** What cannot be read (another user's, or moved on just now) is a line that says so. */
function linesOf(file: string): string[] {
  try {
    return readPlainFile({ file, what: "Log" }, 4 * MOST_BYTES)
      .toString("utf8")
      .split("\n");
  } catch (error) {
    if (error instanceof FileRefused) return [error.message];
    throw error;
  }
}

/** The newest lines of all processes in order of time; none where there is no log. */
export function newestLogLines(most: number, folder = logFolder()): string[] {
  let names: string[];
  try {
    names = readdirSync(folder).filter((name) => name.endsWith(".log"));
  } catch (error) {
    if (codeOf(error) === "ENOENT") return [];
    return [`The log could not be read (${codeOf(error)})`];
  }
  return names
    .flatMap((name) => linesOf(join(folder, name)))
    .filter((line) => line !== "")
    .sort()
    .slice(-most);
}
