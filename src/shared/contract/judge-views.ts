/** What Compare, Plan and Report are told. Seconds unless named otherwise; unknown is null with a reason beside it. */
import type { Comparison, GroupSummary } from "../judge/judged-run.ts";
import type { Plan } from "../judge/plan.ts";
import type { PlanChoice } from "../judge/plan-choices.ts";
import type { PlanProgress } from "../judge/plan-progress.ts";
import type { RunsNeeded } from "../judge/power.ts";
import type { Gate } from "../launch/gate.ts";
import type { StartName } from "../launch/gate-result.ts";

export interface TimedGateView {
  readonly gate: string;
  readonly start: StartName;
  /** Runs with a time there. */
  readonly runs: number;
}

/** The run whose time lies nearest its group's median. */
export interface TypicalRun {
  readonly group: string;
  readonly run: number;
  readonly seconds: number;
  readonly secondsAbove10Percent: number | null;
  /** Share of the asked torque that was held back up to the gate; null unknown. */
  readonly heldShare: number | null;
}

export interface CompareView {
  readonly gates: readonly TimedGateView[];
  readonly labels: readonly { readonly label: string; readonly runs: number }[];
  readonly gate: string;
  readonly start: StartName;
  /** The groups compared; differences are later minus earlier. */
  readonly groups: readonly GroupSummary[];
  /** One pair, or every pair of more; empty where nothing can be compared. */
  readonly pairs: readonly (Comparison & { readonly holmP: number })[];
  /** What to do where `pairs` is empty. */
  readonly why: string | null;
  /** Ids of every timed run of these groups in the order driven. */
  readonly driven: readonly number[];
  readonly typical: readonly TypicalRun[];
}

interface ScatterView {
  readonly seconds: number;
  readonly low: number;
  readonly high: number;
  readonly degrees: number;
}

export interface PlanView {
  readonly id: number | null;
  readonly plan: Plan | null;
  readonly progress: PlanProgress | null;
  /** Time at the plan's first gate of the run in each slot. */
  readonly seconds: readonly (number | null)[];
  /** Runs driven since that fill no slot. */
  readonly outside: readonly { readonly run: number; readonly why: string }[];
  /** What a first plan would be made of. */
  readonly labels: readonly string[];
  readonly gates: readonly string[];
  /** Those of them that people added. */
  readonly ownGates: readonly Gate[];
  /** Signals whose value can be held in a window. */
  readonly measured: readonly string[];
}

export interface PlanChoicesView {
  readonly choices: readonly PlanChoice[];
  /** Scatter of single runs so far at this gate; null below two runs a group. */
  readonly scatter: ScatterView | null;
  readonly needed: RunsNeeded | null;
  /** The difference, s, that so many runs a group in two directions find four times in five; null without scatter or with too few runs. */
  readonly findableS: number | null;
}

export interface ReportView {
  readonly html: string;
  /** File name without its ending. */
  readonly name: string;
}
