/** Turns a failure into one line and an exit code: 2 where a person can correct it by other input, else 1. Never fails. */
import { KMH_AND_M, saidIn, type Units } from "../../../shared/kernel/shown-units.ts";
import { oneLine } from "../../../shared/kernel/one-line.ts";
import { BookError } from "../../ports/book.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Codes of errors that are about the given input. */
const INPUT_CODES: ReadonlySet<unknown> = new Set(["set-up", "log", "contract", "dbc", "plan", "compare"]);
const INPUT_NAMES: ReadonlySet<unknown> = new Set(["DbcError", "RoleError", "LogLineError"]);

export function exitCodeOf(error: unknown): 1 | 2 {
  if (error instanceof RangeError) return 2;
  if (error instanceof BookError) return error.code === "notFound" || error.code === "unavailable" ? 2 : 1;
  const { code, name } = (error ?? {}) as { code?: unknown; name?: unknown };
  return INPUT_CODES.has(code) || INPUT_NAMES.has(name) ? 2 : 1;
}

/** One line, whatever the error contains, in the reader's units. */
export function lineOf(error: unknown, units: Units = KMH_AND_M): string {
  return oneLine(saidIn(units, wordsOf(error)));
}
