/**
 * The single changes that a group's losses suggest, each with what was seen and the most that it can gain. None where the quickest time is
 * unknown.
 */
import { fixed } from "../judge/wording.ts";
import type { AdvisedGroup } from "./advised-group.ts";
import type { Figure } from "./figure.ts";
import type { FittedCar } from "./fitted-car.ts";
import type { GripCurve } from "./grip-curve.ts";
import { curveFor } from "./group-losses.ts";
import { asksAllAfterS } from "./habit.ts";
import { knownTyre } from "./known-tyre.ts";
import type { LossCause } from "./losses.ts";
import { type OwnUnits, ownUnits } from "./own-units.ts";
import { quickestOf } from "./quickest.ts";
import type { Trial } from "./trial.ts";
import type { TuneRun } from "./tune-run.ts";
import { saidKmh, saidSpeed } from "../kernel/shown-units.ts";
import { KMH_PER_MPS, MPS_PER_KMH } from "../kernel/units.ts";

export interface Change {
  readonly change: "moreSlip" | "lessSlip" | "answerSooner" | "askSooner" | "askLater" | "calmer";
  readonly from: number;
  readonly to: number;
  readonly unit: string;
  /** For a label: "slip 11 %". */
  readonly name: string;
  /** "more slip": the change as a noun. */
  readonly what: string;
  readonly seen: string;
  readonly todo: string;
  readonly own: OwnUnits | null;
  readonly evidence: Readonly<Record<string, number>>;
  /** What was lost to this cause. */
  readonly atMost: Figure;
  readonly trial: Trial;
}

/** What the car and its tyres can do. */
interface Known {
  readonly car: FittedCar;
  readonly grip: readonly GripCurve[];
}

/** Smaller losses are not a habit. */
export const WORTH_S = 0.03;
/** A quarter of the loss stays uncertain: no control regains all of it. */
const OPEN_SHARE = 0.25;
/** A control that answers in this time is as quick as the bus can show (10 ms a frame). */
const SOON_S = 0.02;
const LATE_S = 0.05;
/** How long a quick foot takes to full pedal (common practice, no source). */
const QUICK_FOOT_S = 0.15;
const CALM_OVERSHOOT = 0.5;
/** Half as hard is the usual first try. */
const CALMER_STRENGTH = 0.5;

const percent = (share: number) => `${(100 * share).toFixed(1)}\u00a0%`;
const whole = (share: number) => `${Math.floor(100 * share + 1e-9)}\u00a0%`;
const pm = ({ value, plusMinus95 }: Figure) => `${(100 * value).toFixed(1)} ± ${(100 * plusMinus95).toFixed(1)}\u00a0%`;
const s = (value: number) => `${fixed(value)}\u00a0s`;

const lossOf = ({ losses }: AdvisedGroup, cause: LossCause): Figure => {
  const loss = losses.find((one) => one.cause === cause);
  return loss === undefined ? { value: 0, plusMinus95: 0 } : { value: loss.seconds, plusMinus95: loss.plusMinus95 };
};

const open = ({ value, plusMinus95 }: Figure): Figure => ({ value, plusMinus95: Math.hypot(plusMinus95, OPEN_SHARE * value) });

/** The band of speed with most of the loss: "most of it from 20 to 40 km/h". */
function where({ bands }: AdvisedGroup, cause: LossCause): string {
  const sums = bands.map((band) => ({ ...band, seconds: band.losses.find((loss) => loss.cause === cause)?.seconds ?? 0 }));
  const [worst] = [...sums].sort((a, b) => b.seconds - a.seconds);
  if (worst === undefined) return "";
  return `, ${s(worst.seconds)} of it from ${Math.round(worst.fromKmh)} to ${saidKmh(worst.toKmh)}`;
}

function slipChange(found: AdvisedGroup, runs: readonly TuneRun[], best: Figure): Change | null {
  const holds = found.control.holdsSlipAt;
  if (holds === null) return null;
  const [held, spun] = [lossOf(found, "heldBack"), lossOf(found, "spin")];
  const apart = Math.abs(holds.value - best.value) > Math.hypot(holds.plusMinus95, best.plusMinus95);
  const more = holds.value < best.value;
  const lost = more ? held : spun;
  if (!apart || lost.value < WORTH_S) return null;
  // Just below the best slip: above it grip falls, and a control has further to go back.
  const to = Math.floor(100 * best.value + 1e-9) / 100;
  const cause = more ? "heldBack" : "spin";
  return {
    change: more ? "moreSlip" : "lessSlip",
    from: holds.value,
    to,
    unit: "1",
    name: `slip ${whole(to)}`,
    what: `${more ? "more" : "less"} slip (${whole(to)})`,
    seen: `It holds ${pm(holds)} slip where the tyre grips best at ${pm(best)}; ${s(lost.value)} are ${more ? "held back" : "spun away"}${where(found, cause)}.`,
    todo: more ? `Let it slip ${whole(to)}, and change nothing else.` : `Hold it at ${whole(to)} slip, and change nothing else.`,
    own: ownUnits(
      runs.map((run) => run.conditions),
      "slip",
      to / holds.value,
    ),
    evidence: { holdsSlipAt: holds.value, bestSlip: best.value, heldBackS: held.value, spinS: spun.value },
    atMost: open(lost),
    trial: { slip: to },
  };
}

function soonerChange(found: AdvisedGroup, runs: readonly TuneRun[]): Change | null {
  const { answersAfterS: answers, overshoot } = found.control;
  const spun = lossOf(found, "spin");
  if (answers === null || answers.value - answers.plusMinus95 < LATE_S || spun.value < WORTH_S) return null;
  return {
    change: "answerSooner",
    from: answers.value,
    to: SOON_S,
    unit: "s",
    name: "answers sooner",
    what: "a quicker answer",
    seen: `Torque comes down ${answers.value.toFixed(3)} ± ${answers.plusMinus95.toFixed(3)}\u00a0s after slip passes what the control holds${overshoot === null ? "" : `, which by then is ${percent(overshoot.value)} over`}; ${s(spun.value)} are spun away${where(found, "spin")}.`,
    todo: "Let it answer sooner, and change nothing else.",
    own: ownUnits(
      runs.map((run) => run.conditions),
      "late",
      SOON_S / answers.value,
    ),
    evidence: { answersAfterS: answers.value, spinS: spun.value },
    atMost: open(spun),
    trial: { lateS: SOON_S },
  };
}

function calmerChange(found: AdvisedGroup): Change | null {
  const { oscillationHz, overshoot } = found.control;
  const [held, spun] = [lossOf(found, "heldBack"), lossOf(found, "spin")];
  if (oscillationHz === null || overshoot === null || overshoot.value < CALM_OVERSHOOT) return null;
  if (held.value < WORTH_S || spun.value < WORTH_S) return null;
  const lost = held.value < spun.value ? held : spun;
  return {
    change: "calmer",
    from: oscillationHz.value,
    to: 0,
    unit: "Hz",
    name: "calmer",
    what: "a calmer control",
    seen: `It oscillates ${oscillationHz.value.toFixed(1)} times a second, slip ${percent(overshoot.value)} over what it holds: ${s(spun.value)} are spun away and ${s(held.value)} held back in turn.`,
    todo: "Let it cut less hard for the same slip, and change nothing else.",
    own: null,
    evidence: { oscillationHz: oscillationHz.value, overshoot: overshoot.value, heldBackS: held.value, spinS: spun.value },
    // The smaller of the two losses appears and vanishes with the larger one.
    atMost: open(lost),
    trial: { strength: CALMER_STRENGTH },
  };
}

function askSoonerChange(found: AdvisedGroup, runs: readonly TuneRun[], car: FittedCar): Change | null {
  const late = lossOf(found, "askedLate");
  const after = asksAllAfterS(runs, car);
  if (after === null || after.value - after.plusMinus95 < QUICK_FOOT_S || late.value < WORTH_S) return null;
  return {
    change: "askSooner",
    from: after.value,
    to: QUICK_FOOT_S,
    unit: "s",
    name: "asks sooner",
    what: "asking sooner",
    seen: `All torque is asked for only ${after.value.toFixed(2)} ± ${after.plusMinus95.toFixed(2)}\u00a0s after the start; ${s(late.value)} are lost to it${where(found, "askedLate")}.`,
    todo: "Ask for it sooner (foot or pedal ramp), and change nothing else.",
    own: ownUnits(
      runs.map((run) => run.conditions),
      "ask",
      QUICK_FOOT_S / after.value,
    ),
    evidence: { asksAllAfterS: after.value, askedLateS: late.value },
    atMost: open({ value: (late.value * (after.value - QUICK_FOOT_S)) / after.value, plusMinus95: late.plusMinus95 }),
    trial: { asksAllAfterS: QUICK_FOOT_S },
  };
}

/** Where the motor instead of the tyre becomes the limit: time and speed; null where the tyre never is the limit. */
function fromTyreToMotor(car: FittedCar, curve: GripCurve, topMps: number): { atS: number; mps: number } | null {
  const tyre = knownTyre(curve);
  if (tyre === null) return null;
  const quickest = quickestOf(car, tyre, topMps);
  if (quickest.at(0).limit !== "tyre") return null;
  let speed = 0;
  while (speed < topMps && quickest.at(speed).limit === "tyre") speed += 0.1;
  return { atS: quickest.timeS(speed), mps: speed };
}

function askLaterChange(found: AdvisedGroup, runs: readonly TuneRun[], { car, grip }: Known): Change | null {
  const [held, spun] = [lossOf(found, "heldBack"), lossOf(found, "spin")];
  const after = asksAllAfterS(runs, car);
  const curve = runs[0] === undefined ? undefined : curveFor(grip, runs[0]);
  // Where a control holds torque back, it is the control that must handle spin.
  if (after === null || curve === undefined || held.value > WORTH_S || spun.value < WORTH_S) return null;
  const topMps = Math.max(...found.bands.map((band) => band.toKmh)) * MPS_PER_KMH;
  const motor = fromTyreToMotor(car, curve, topMps);
  if (motor === null || motor.atS < after.value) return null;
  return {
    change: "askLater",
    from: after.value,
    to: motor.atS,
    unit: "s",
    name: "asks later",
    what: "asking later",
    seen: `All torque is asked for ${after.value.toFixed(2)}\u00a0s after the start, but up to ${saidSpeed(motor.mps)} the tyre cannot take it; ${s(spun.value)} are spun away${where(found, "spin")}, and nothing holds it back.`,
    todo: `Ask for all of it only from ${saidSpeed(motor.mps)} on (${motor.atS.toFixed(1)}\u00a0s), and change nothing else.`,
    own: ownUnits(
      runs.map((run) => run.conditions),
      "ask",
      motor.atS / after.value,
    ),
    evidence: { asksAllAfterS: after.value, motorLimitsFromKmh: motor.mps * KMH_PER_MPS, spinS: spun.value },
    atMost: open(spun),
    trial: { asksAllAfterS: motor.atS },
  };
}

/** Needs a group with a known quickest time and runs of one surface. */
export function changesFor(found: AdvisedGroup, runs: readonly TuneRun[], known: Known): Change[] {
  const best = runs[0] === undefined ? null : (curveFor(known.grip, runs[0])?.bestSlip ?? null);
  return [
    best === null ? null : slipChange(found, runs, best),
    soonerChange(found, runs),
    calmerChange(found),
    askSoonerChange(found, runs, known.car),
    askLaterChange(found, runs, known),
  ].filter((change) => change !== null);
}
