/** Which runs can tell what a setting of the control is worth: those in which it worked. */
import { ofWord } from "../kernel/by-word.ts";
import type { JudgedRun } from "./judged-run.ts";

/** Conditions by which people note whether it worked, in any case of letters. */
const NOTED = ["traction control", "control"];
const OFF = /\boff$/i;

/** Null where nothing says it. */
function noted({ conditions }: JudgedRun): boolean | null {
  const keys = Object.keys(conditions).filter((key) => NOTED.includes(key.trim().toLowerCase()));
  const values = keys.map((key) => ofWord(conditions, key)?.trim() ?? "");
  if (values.some((value) => OFF.test(value))) return false;
  return values.some((value) => /\bon$/i.test(value)) ? true : null;
}

/** By the car's own switch; where that is unknown by what was noted, and last by the label, as the groups of a comparison are ordered by. */
function isOff(run: JudgedRun): boolean {
  const said = run.measured.tractionControlEnabled ?? null;
  return said === null ? !(noted(run) ?? !OFF.test(run.label.trim())) : said === 0;
}

/**
 * Runs with the control off beside others tell nothing of its settings and are left out; alone they are kept. `words` says so, and where
 * nothing tells whether it worked.
 */
export function controlled<Run extends JudgedRun>(runs: readonly Run[]): { readonly runs: readonly Run[]; readonly words: string | null } {
  const on = runs.filter((run) => !isOff(run));
  const off = runs.length - on.length;
  if (off === 0) {
    const isUnknown = runs.length > 0 && runs.every((run) => (run.measured.tractionControlEnabled ?? null) === null && noted(run) === null);
    const words = "every run counts as driven with the control: no signal says so; where it was off, note the condition control=off";
    return { runs, words: isUnknown ? words : null };
  }
  if (on.length === 0) return { runs, words: null };
  const words = `${off === 1 ? "one run with the control off is" : `${off} runs with the control off are`} left out: its settings do nothing there; choose those runs alone to look at tyres and air`;
  return { runs: on, words };
}
