/**
 * Compares a day under a control of known setting with the product's results: how late it answers, and what a change would gain. The same
 * day is then driven with that change. A day whose tyre or control stays unknown has no gain, and is counted.
 */
import { median } from "../../src/shared/kernel/statistics.ts";
import { type Gate, STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import { fitCar } from "../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../src/shared/tune/grip-curves.ts";
import { type GroupControl, groupControl } from "../../src/shared/tune/group-control.ts";
import { expectedGain } from "../../src/shared/tune/predict.ts";
import type { Trial } from "../../src/shared/tune/trial.ts";
import { createRandom } from "../support/second-car/random.ts";
import { type ControlDay, firstControlDay, secondControlDay, trueAnswerS } from "./control-day.ts";
import type { Outcome } from "./tally.ts";

type ControlKind = "tooLittleSlip" | "tooMuchSlip" | "late";

export interface ControlDayClass {
  readonly car: "first" | "second";
  readonly surface: "dry" | "wet";
  readonly kind: ControlKind;
}

export interface ControlCase {
  /** Seconds. Null where no answer could be timed. */
  readonly answers: Outcome | null;
  /** Relative to what following it gained. Null where none would be advised. */
  readonly gain: Outcome | null;
  readonly missed: number;
}

const GATE = STANDARD_GATES.find(({ name }) => name === "0-60 mph") as Gate;
const DAY = { launches: 4, off: 2, gentleS: 90 } as const;
const SOON_S = 0.02;
/** Smaller gains are not advised. */
const WORTH_S = 0.03;

/** The same setting for both cars: share of ground speed allowed as slip, and how late. */
interface Setting {
  readonly share: number;
  readonly lateS: number;
}

function settingOf(kind: ControlKind, seed: number): Setting {
  const random = createRandom(seed * 13 + 5);
  const late = Math.round(random.between(0, 30)) / 1e3;
  if (kind === "tooLittleSlip") return { share: random.between(0.02, 0.05), lateS: late };
  if (kind === "tooMuchSlip") return { share: random.between(0.3, 0.45), lateS: late };
  return { share: random.between(0.08, 0.12), lateS: Math.round(random.between(50, 90)) / 1e3 };
}

function drive(seed: number, { car, surface }: ControlDayClass, { share, lateS }: Setting): ControlDay {
  const ask = { surface, ...DAY };
  return car === "first"
    ? firstControlDay(seed, { slip: share, lateS, strength: 0.7 }, ask)
    : secondControlDay(seed, { allowedShare: share, lateS, allowedMps: 0.35 }, ask);
}

const meanSixty = ({ truths }: Pick<ControlDay, "truths">) =>
  truths.reduce((sum, { sixtyS }) => sum + (sixtyS ?? Number.NaN), 0) / truths.length;

/** The change that advice would name, and the setting that follows it. */
function change(kind: ControlKind, control: GroupControl, best: number, { share, lateS }: Setting): { trial: Trial; next: Setting } | null {
  if (kind === "late") {
    const answers = control.answersAfterS;
    if (answers === null || answers.value - SOON_S < 0.01) return null;
    const next = Math.max(0, Math.round((lateS + SOON_S - answers.value) * 1e3) / 1e3);
    return { trial: { lateS: SOON_S }, next: { share, lateS: next } };
  }
  const holds = control.holdsSlipAt;
  if (holds === null) return null;
  const slip = Math.floor(100 * best) / 100;
  return { trial: { slip }, next: { share: share + slip - holds.value, lateS } };
}

/** A day of this class; `setting`: that of the seed, unless the day is driven again with another. */
const controlDayOf = (seed: number, claim: ControlDayClass, setting = settingOf(claim.kind, seed)): ControlDay =>
  drive(seed, claim, setting);

/** `again`: the day driven with another setting. */
export function judgeControlDay(
  seed: number,
  claim: ControlDayClass,
  day = controlDayOf(seed, claim),
  again = (setting: Setting): Pick<ControlDay, "truths"> => controlDayOf(seed, claim, setting),
): ControlCase {
  const setting = settingOf(claim.kind, seed);
  const all = [...day.offRuns, ...day.runs];
  const car = fitCar(all);
  const curves = gripCurves(all, car);
  const control = groupControl(day.runs, car, null);
  const late = day.truths.flatMap((truth) => trueAnswerS(truth, day.aimMps) ?? []);
  const answers =
    control.answersAfterS === null || late.length === 0
      ? null
      : { error: control.answersAfterS.value - median(late), plusMinus95: control.answersAfterS.plusMinus95 };
  const best = curves[0]?.bestSlip ?? null;
  const tried = best === null ? null : change(claim.kind, control, best.value, setting);
  const said =
    tried === null ? null : expectedGain({ runs: day.runs, gate: GATE, start: "movement", car, curves, control, trial: tried.trial });
  if (tried === null || said === null || said.value < WORTH_S || said.value <= said.plusMinus95)
    return { answers, gain: null, missed: day.missed };
  const gained = meanSixty(day) - meanSixty(again(tried.next));
  return { answers, gain: { error: (said.value - gained) / gained, plusMinus95: Math.abs(said.plusMinus95 / gained) }, missed: day.missed };
}
