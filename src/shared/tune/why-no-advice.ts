/**
 * Reasons against advising on a group: too few runs, unlike runs, a tyre that never passed its best slip, control switched off. Sentences,
 * each with what would help.
 */
import { stopped } from "../judge/wording.ts";
import type { AdvisedGroup } from "./advised-group.ts";
import { wentOneWay } from "./one-way.ts";
import type { TuneRun } from "./tune-run.ts";

const LEAST_RUNS = 2;

/** Notes about one run alone; they do not make two runs unlike. */
const OWN = /note|file|time|before driving/i;

function unlike(runs: readonly TuneRun[]): string | null {
  const [first] = runs;
  if (first === undefined) return null;
  if (runs.some((run) => run.surface !== first.surface)) return "surface";
  const keys = [...new Set(runs.flatMap((run) => Object.keys(run.conditions)))].filter((key) => !OWN.test(key));
  // Only a change in the controller makes another setting; air and tyres belong to the day.
  return keys.find((key) => /^chang/i.test(key) && runs.some((run) => run.conditions[key] !== first.conditions[key])) ?? null;
}

/** `refuses` false with words: advice is given, and the words are shown beside it. */
export function whyNoAdvice(
  found: AdvisedGroup,
  runs: readonly TuneRun[],
): { readonly refuses: boolean; readonly words: readonly string[] } {
  const { label, gate } = found;
  const refuse = (words: string) => ({ refuses: true, words: [`${label}: ${words}`] });
  if (runs.length < LEAST_RUNS)
    return refuse(
      `${runs.length === 1 ? "one run is" : "no run has a time for the gate: that is"} too little; drive at least two to ${gate}, better six.`,
    );
  if (runs.every((run) => run.measured.tractionControlEnabled === 0))
    return refuse("the car's own switch was off in every run: these show what control is for, not how to set it.");
  const differs = unlike(runs);
  if (differs !== null) return refuse(`its runs differ in ${JSON.stringify(differs)}: give them labels of their own.`);
  if (found.quickest === null) return refuse(stopped(found.why ?? "the quickest launch is unknown"));
  const sloped = runs.some((run) => run.flags.some(({ flag }) => flag === "slope"));
  if (wentOneWay(runs)) {
    const words = "all runs went one way, slope and wind are in every figure: drive as many the other way.";
    return sloped ? refuse(words) : { refuses: false, words: [`${label}: ${words}`] };
  }
  return { refuses: false, words: [] };
}
