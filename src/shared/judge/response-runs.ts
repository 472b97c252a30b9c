/** Which runs can tell what a setting of the control is worth: those in which it worked. */
import type { JudgedRun } from "./judged-run.ts";

/** By the car's own switch; where that is unknown by the label, as the groups of a comparison are ordered by. */
function isOff({ label, measured }: JudgedRun): boolean {
  const said = measured.tractionControlEnabled ?? null;
  return said === null ? /\boff$/i.test(label.trim()) : said === 0;
}

/** Runs with the control off beside others tell nothing of its settings and are left out; alone they are kept. `words` says so. */
export function controlled<Run extends JudgedRun>(runs: readonly Run[]): { readonly runs: readonly Run[]; readonly words: string | null } {
  const on = runs.filter((run) => !isOff(run));
  const off = runs.length - on.length;
  if (off === 0 || on.length === 0) return { runs, words: null };
  const words = `${off === 1 ? "one run with the control off is" : `${off} runs with the control off are`} left out: its settings do nothing there; choose those runs alone to look at tyres and air`;
  return { runs: on, words };
}
