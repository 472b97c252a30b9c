/** A set-up's text, read and checked once, and a set-up as a person would write it. Throws SetUpError: one line that names the file and the place. */
import { parseJson } from "../kernel/parse-json.ts";
import { checkDraft, checkSetUp, SetUpError } from "./check-set-up.ts";
import type { DraftSetUp } from "./draft-set-up.ts";
import type { SetUp, SignalChoice } from "./set-up.ts";

/** A set-up that is still being made, with the text it was read from. */
export interface WrittenDraft {
  readonly text: string;
  readonly draft: DraftSetUp;
}

/** `name` is how messages call the set-up. */
export const parseSetUp = (text: string, name: string): SetUp => checkSetUp(jsonOf(text, name), name);

/** As parseSetUp, of a set-up of which parts may be missing. */
export const parseDraft = (text: string, name: string): WrittenDraft => ({ text, draft: checkDraft(jsonOf(text, name), name) });

/** As a person would write it: a role without inversion is just its signal's name. */
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
    throw new SetUpError(`${name}: no JSON at ${(cause as Error).message}; mend it there`, { cause });
  }
}
