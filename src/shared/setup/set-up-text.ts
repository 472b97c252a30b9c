/**
 * Reads and checks a set-up's text, and writes a set-up as a person would. Throws SetUpError: one line that names the file and the place.
 */
import { parseJson } from "../kernel/parse-json.ts";
import { checkDraft, checkSetUp, SetUpError } from "./check-set-up.ts";
import type { DraftSetUp } from "./draft-set-up.ts";
import type { SetUp, SignalChoice } from "./set-up.ts";

/** A set-up that is still being made, with the text it was read from. */
export interface WrittenDraft {
  readonly text: string;
  readonly draft: DraftSetUp;
}

/** `name` is the set-up's name in messages. */
export const parseSetUp = (text: string, name: string): SetUp => checkSetUp(jsonOf(text, name), name);

/** Like parseSetUp, for a set-up that may lack parts. */
export const parseDraft = (text: string, name: string): WrittenDraft => ({ text, draft: checkDraft(jsonOf(text, name), name) });

/** The set-up as a person would write it: a role that is not inverted is only its signal's name. */
export function draftText(draft: DraftSetUp): string {
  const plain = (choice: SignalChoice) => (choice.invert ? choice : choice.signal);
  const signals = Object.fromEntries(
    Object.entries(draft.signals).map(([role, choice]) => [
      role,
      Array.isArray(choice) ? choice.map(plain) : plain(choice as SignalChoice),
    ]),
  );
  return `${JSON.stringify({ ...draft, signals }, null, 2)}\n`;
}

function jsonOf(text: string, name: string): unknown {
  try {
    return parseJson(text);
  } catch (cause) {
    throw new SetUpError(`${name}: no JSON at ${(cause as Error).message}; correct it there`, { cause });
  }
}
