/**
 * How commands print: results to stdout, errors as one line to stderr. Text from a book or a name cannot control the terminal or add a
 * line. Speeds and lengths are printed in the units that --units names; JSON has the core's.
 */
import { oneLine } from "../../shared/kernel/one-line.ts";
import { KMH_AND_M, saidIn, type Units } from "../../shared/kernel/shown-units.ts";
import { exitCodeOf, lineOf } from "../core/basics/failure.ts";
import { createLog } from "../disk/log.ts";
import type { JsonAnswers } from "./json-answers.ts";

/** JSON.stringify leaves characters beyond ASCII as they are, and some of them control a terminal. */
const OBEYED = /[\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]/g;
const escaped = (sign: string) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, "0")}`;

let chosen: Units = KMH_AND_M;

export const units = (): Units => chosen;

export function useUnits(asked: Units): void {
  chosen = asked;
}

/** One line, or a list of lines, each cleaned. */
export function say(text: string | readonly string[]): void {
  const lines = typeof text === "string" ? [text] : text;
  process.stdout.write(`${lines.map(indented).join("\n")}\n`);
}

/** Spaces at its beginning are meant. */
function indented(line: string): string {
  return `${/^ */.exec(line)?.[0] ?? ""}${oneLine(saidIn(chosen, line), Number.POSITIVE_INFINITY)}`;
}

const plain = (_: string, value: unknown) => (typeof value === "string" ? saidIn(KMH_AND_M, value) : value);

/** The answer of a command, which is named: its type is what the schema in docs/schema/answers is written from. */
export function sayJson<C extends keyof JsonAnswers = never>(answer: JsonAnswers[C]): void {
  process.stdout.write(`${JSON.stringify(answer, plain, 2).replace(OBEYED, escaped)}\n`);
}

const log = createLog("command");

export function warn(text: string): void {
  const said = saidIn(chosen, text);
  process.stderr.write(`${oneLine(said)}\n`);
  log("warn", said);
}

/** The error that ended a command: the line for the person, and where in the program it came from, for whoever repairs it. */
export function fail(error: unknown): void {
  const line = lineOf(error, chosen);
  process.stderr.write(`${line}\n`);
  const from = exitCodeOf(error) === 1 && error instanceof Error ? ` ${error.stack ?? ""}` : "";
  log("error", `${line}${from}`);
}
