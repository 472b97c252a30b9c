/** What a failure says and how a process ends on it: exit 2 where a person mends it by giving something else, 1 otherwise. Never fails. */
import { oneLine } from "../../../shared/kernel/one-line.ts";
import { BookError } from "../../ports/book.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

/** Codes of errors that are about what was given. */
const INPUT_CODES: ReadonlySet<unknown> = new Set(["set-up", "log", "contract", "dbc", "plan", "compare"]);
const INPUT_NAMES: ReadonlySet<unknown> = new Set(["DbcError", "RoleError", "LogLineError"]);

export function exitCodeOf(error: unknown): 1 | 2 {
  if (error instanceof RangeError) return 2;
  if (error instanceof BookError) return error.code === "notFound" || error.code === "unavailable" ? 2 : 1;
  const { code, name } = (error ?? {}) as { code?: unknown; name?: unknown };
  return INPUT_CODES.has(code) || INPUT_NAMES.has(name) ? 2 : 1;
}

/** One line, whatever the error holds. */
export function lineOf(error: unknown): string {
  return oneLine(wordsOf(error));
}
