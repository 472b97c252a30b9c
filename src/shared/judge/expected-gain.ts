/** Whether an expected gain came true: what a model promised of two settings, against what was driven afterwards. Pure. */
import type { Comparison } from "./judged-run.ts";
import { fixed, quickerOrSlower, reach } from "./wording.ts";

/** What was expected before driving; differences are `to` less `from`, negative is quicker. */
export interface ExpectedGain {
  readonly gate: string;
  readonly from: string;
  readonly to: string;
  readonly gainS: number;
  readonly plusMinus95: number | null;
  /** The newest run at that time: only later ones count. */
  readonly afterRun: number;
  readonly utcUs: number;
}

export interface GainKept {
  readonly expected: ExpectedGain;
  /** "open": not driven enough to say. */
  readonly verdict: "came true" | "less than expected" | "more than expected" | "did not come true" | "open";
  readonly words: string;
}

const head = ({ to, from, gainS, plusMinus95 }: ExpectedGain) =>
  `${to} against ${from}: expected ${quickerOrSlower(gainS)}${plusMinus95 === null ? "" : ` ± ${fixed(plusMinus95)}`}`;

/** `driven`: the comparison of the later runs; null while there are too few. */
export function gainKept(expected: ExpectedGain, driven: Pick<Comparison, "said"> | null): GainKept {
  const said = driven?.said ?? null;
  if (said === null) return { expected, verdict: "open", words: `${head(expected)}; not driven yet` };
  const { low, high, shift } = said;
  const seen = `${head(expected)}; driven ${quickerOrSlower(shift)} (${reach(said)})`;
  const [holdsZero, holdsGain] = [low <= 0 && high >= 0, low <= expected.gainS && high >= expected.gainS];
  if (holdsZero && holdsGain) return { expected, verdict: "open", words: `${seen}: not decided yet` };
  if (holdsGain) return { expected, verdict: "came true", words: `${seen}: it came true` };
  const gained = Math.sign(shift) === Math.sign(expected.gainS) && !holdsZero;
  if (!gained) return { expected, verdict: "did not come true", words: `${seen}: it did not come true` };
  const verdict = Math.abs(shift) < Math.abs(expected.gainS) ? "less than expected" : "more than expected";
  return { expected, verdict, words: `${seen}: ${verdict}` };
}
