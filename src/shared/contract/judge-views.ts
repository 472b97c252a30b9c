/** The data of Compare, Plan and Report. Seconds unless named otherwise; unknown is null with a reason beside it. */
import type { Comparison, GroupSummary } from "../judge/judged-run.ts";
import type { GainKept } from "../judge/expected-gain.ts";
import type { Experiment } from "../judge/next-experiment.ts";
import type { Plan } from "../judge/plan.ts";
import type { PlanChoice } from "../judge/plan-choices.ts";
import type { PlanProgress } from "../judge/plan-progress.ts";
import type { Response } from "../judge/response.ts";
import type { RunsNeeded } from "../judge/power.ts";
import type { Gate } from "../launch/gate.ts";
import type { StartName } from "../launch/gate-result.ts";

export interface TimedGateView {
  readonly gate: string;
  readonly start: StartName;
  /** Runs with a time there. */
  readonly runs: number;
}

/** The run whose time is nearest to its group's median. */
export interface TypicalRun {
  readonly group: string;
  readonly run: number;
  readonly seconds: number;
  readonly secondsAbove10Percent: number | null;
  /** Share of the requested torque that was held back up to the gate; null unknown. */
  readonly heldShare: number | null;
}

export interface CompareView {
  readonly gates: readonly TimedGateView[];
  readonly labels: readonly { readonly label: string; readonly runs: number }[];
  readonly gate: string;
  readonly start: StartName;
  /** Terms that all runs compared hold; empty: all runs. */
  readonly where: readonly string[];
  /** The groups compared; differences are the later one minus the earlier one. */
  readonly groups: readonly GroupSummary[];
  /** One pair, or every pair of several; empty where nothing can be compared. */
  readonly pairs: readonly (Comparison & { readonly holmP: number })[];
  /** What to do where `pairs` is empty. */
  readonly why: string | null;
  /** Ids of every timed run of these groups in driving order. */
  readonly driven: readonly number[];
  readonly typical: readonly TypicalRun[];
}

/** What the settings noted with the runs are worth. */
export interface ResponseView {
  readonly gate: string;
  readonly response: Response | null;
  /** What to do where it is null. */
  readonly why: string | null;
  /** What to drive next; null where nothing is left to ask. */
  readonly next: Experiment | null;
  /** Gains that were expected, and whether they came true; oldest first. */
  readonly kept: readonly GainKept[];
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
  /** Time at the plan's first gate, for the run in each slot. */
  readonly seconds: readonly (number | null)[];
  /** Runs driven since then that fill no slot. */
  readonly outside: readonly { readonly run: number; readonly why: string }[];
  /** Labels from which a first plan can be made. */
  readonly labels: readonly string[];
  readonly gates: readonly string[];
  /** The gates among them that people added. */
  readonly ownGates: readonly Gate[];
  /** Signals whose value can be kept within limits. */
  readonly measured: readonly string[];
}

export interface PlanChoicesView {
  readonly choices: readonly PlanChoice[];
  /** Scatter of single runs so far at this gate; null below two runs a group. */
  readonly scatter: ScatterView | null;
  readonly needed: RunsNeeded | null;
  /**
   * The difference, s, that this many runs a group in two directions find four times in five; null without scatter or with too few runs.
   */
  readonly findableS: number | null;
}

export interface ReportView {
  readonly html: string;
  /** File name without its ending. */
  readonly name: string;
}
