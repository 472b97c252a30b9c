/**
 * What to change next: at most three changes, each by itself, the largest expected gain first, each with the plan that would test it. Too
 * few runs, flagged or unlike runs, or runs in one direction only give no advice, and `silent` says what would help. Nothing is written to
 * any controller.
 */
import { fixed } from "../judge/wording.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { AdvisedGroup } from "./advised-group.ts";
import type { Figure } from "./figure.ts";
import type { FittedCar } from "./fitted-car.ts";
import type { GripCurve } from "./grip-curve.ts";
import { type LeftOut, leftOutWords } from "./left-out.ts";
import type { OwnUnits } from "./own-units.ts";
import { type Change, changesFor, WORTH_S } from "./possible-changes.ts";
import type { TuneRun } from "./tune-run.ts";
import { whyNoAdvice } from "./why-no-advice.ts";

export interface AdviceQuestion {
  readonly car: FittedCar;
  readonly grip: readonly GripCurve[];
  readonly groups: readonly { readonly found: AdvisedGroup; readonly runs: readonly TuneRun[] }[];
  readonly gate: string;
  readonly start: StartName;
  /** Drives the fitted car again with one change: seconds gained; null where this is not possible. */
  readonly predict: (group: string, change: Change) => Figure | null;
  /** Runs that are not used here, each with the reason. */
  readonly leftOut: readonly LeftOut[];
}

export interface Advice {
  readonly group: string;
  readonly change: Change["change"];
  readonly from: number;
  readonly to: number;
  /** "1" for a slip ratio, "s", "Hz". */
  readonly unit: string;
  readonly expectedGainS: Figure;
  /** "simulation": the fitted car driven again. "losses": what was lost, which is the most that can be gained. */
  readonly gainFrom: "simulation" | "losses";
  /** What was seen, what to change, what to expect: whole sentences. */
  readonly words: string;
  readonly seen: string;
  readonly todo: string;
  /** In the units of the parameter noted with the runs; null where none was noted. */
  readonly own: OwnUnits | null;
  readonly evidence: Readonly<Record<string, number>>;
  readonly test: { readonly runsPerGroup: number; readonly gate: string; readonly groups: readonly [string, string] };
}

const MOST_ADVICE = 3;
const RUNS_PER_GROUP = 6;

const seconds = (value: number) => `${fixed(value)} s`;

function gainWords({ value, plusMinus95 }: Figure, from: Advice["gainFrom"]): string {
  return from === "simulation"
    ? `Expected: ${seconds(value)} quicker, ± ${seconds(plusMinus95)}, by a simulation of the fitted car.`
    : `Expected: at most ${seconds(value)} quicker, ± ${seconds(plusMinus95)}: that is what was lost.`;
}

function ownWords(own: OwnUnits | null): string {
  if (own === null) return "";
  const unit = own.unit === "" ? "" : `\u00a0${own.unit}`;
  return ` In your units: ${own.parameter} from ${own.now} to about ${own.next}${unit}, if it grows with what was measured; go there in steps.`;
}

/** Names only what was really looked for: where torque or slip is unknown, seconds have no cause. */
function lookedFor({ each }: AdvisedGroup): string {
  const untoldS = each.reduce((sum, run) => sum + run.untoldS, 0) / Math.max(1, each.length);
  if (untoldS < WORTH_S) return "; spin, torque held back and asking late were looked for.";
  return `, but ${fixed(untoldS)}\u00a0s were lost where torque or slip is unknown; only the rest was looked through.`;
}

/** Each possible change with its gain; those without a sure gain are listed in `silent`. */
function weigh(question: AdviceQuestion): { advice: Advice[]; silent: string[] } {
  const advice: Advice[] = [];
  const silent: string[] = [];
  for (const { found, runs } of question.groups) {
    const refused = whyNoAdvice(found, runs);
    silent.push(...refused.words);
    if (refused.refuses) continue;
    const changes = changesFor(found, runs, question);
    for (const change of changes) {
      const predicted = question.predict(found.label, change);
      const expectedGainS = predicted ?? change.atMost;
      const gainFrom = predicted === null ? "losses" : "simulation";
      if (expectedGainS.value < WORTH_S || expectedGainS.value <= expectedGainS.plusMinus95) {
        const { value, plusMinus95 } = expectedGainS;
        silent.push(
          `${found.label}: ${change.what} might gain ${seconds(value)}, ± ${seconds(plusMinus95)}: too little, or too unsure, for a test.`,
        );
        continue;
      }
      advice.push({
        group: found.label,
        change: change.change,
        from: change.from,
        to: change.to,
        unit: change.unit,
        expectedGainS,
        gainFrom,
        seen: change.seen,
        todo: `${change.todo}${ownWords(change.own)}`,
        words: `${change.seen} ${change.todo}${ownWords(change.own)} ${gainWords(expectedGainS, gainFrom)}`,
        own: change.own,
        evidence: change.evidence,
        test: { runsPerGroup: RUNS_PER_GROUP, gate: question.gate, groups: [found.label, `${found.label}, ${change.name}`] },
      });
    }
    if (changes.length === 0) silent.push(`${found.label}: no change stands out${lookedFor(found)}`);
  }
  return { advice, silent };
}

export function advise(question: AdviceQuestion): { readonly advice: readonly Advice[]; readonly silent: readonly string[] } {
  const { advice, silent } = weigh(question);
  advice.sort((a, b) => b.expectedGainS.value - a.expectedGainS.value);
  return { advice: advice.slice(0, MOST_ADVICE), silent: [...silent, ...leftOutWords(question.leftOut)] };
}
