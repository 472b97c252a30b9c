/** How commands speak: results to stdout, trouble as one line to stderr. Nothing that a book or a name holds paints the terminal or makes a line of its own. */
import { oneLine } from "../../shared/kernel/one-line.ts";
import { exitCodeOf, lineOf } from "../core/basics/failure.ts";
import { createLog } from "../disk/log.ts";

/** JSON.stringify leaves what lies beyond ASCII as it is; a terminal obeys some of it. */
const OBEYED = /[\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]/g;
const escaped = (sign: string) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, "0")}`;

/** One line, or a list of them: a line each, whatever is in it. */
export function say(text: string | readonly string[]): void {
  const lines = typeof text === "string" ? [text] : text;
  process.stdout.write(`${lines.map(indented).join("\n")}\n`);
}

/** Blanks at its beginning are meant. */
function indented(line: string): string {
  return `${/^ */.exec(line)?.[0] ?? ""}${oneLine(line, Number.POSITIVE_INFINITY)}`;
}

export function sayJson(value: unknown): void {
  process.stdout.write(`${JSON.stringify(value, null, 2).replace(OBEYED, escaped)}\n`);
}

const log = createLog("command");

export function warn(text: string): void {
  process.stderr.write(`${oneLine(text)}\n`);
  log("warn", text);
}

/** What ended a command: the line for the person, and where in the program it came from for whoever mends it. */
export function fail(error: unknown): void {
  const line = lineOf(error);
  process.stderr.write(`${line}\n`);
  const from = exitCodeOf(error) === 1 && error instanceof Error ? ` ${error.stack ?? ""}` : "";
  log("error", `${line}${from}`);
}
