/** A run as the judge needs it, and what a comparison answers. Seconds; unknown is null. */
import type { OrderSetName } from "./order-set.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { DriftFit } from "./drift.ts";

export interface JudgedRun {
  readonly id: number;
  readonly label: string;
  /** Whether `show` calls it final; provisional runs are used with a warning. */
  readonly final: boolean;
  /** Any number that grows in the order driven (start time, sequence). */
  readonly drivenAt: number;
  /** The gate's time, null where it was not reached, with why. */
  readonly seconds: number | null;
  readonly plusMinus95: number | null;
  readonly why?: string;
  readonly courseDeg: number | null;
  /** Set aside by a person: false. A flag alone sets nothing aside. */
  readonly use: boolean;
  readonly note: string;
  /** Whether its time could be seen when a person set it aside; null when no person did. */
  readonly setAsideAfterTimeSeen: boolean | null;
  readonly flags: readonly { readonly flag: string; readonly why: string }[];
  /** What people noted: surface, tyre pressure ... */
  readonly conditions: Readonly<Record<string, string>>;
  /** What the bus said: charge %, temperatures degC. */
  readonly measured: Readonly<Record<string, number | null>>;
  /** null: before any calibration. */
  readonly calibrationId: number | null;
  /** Names the receiver (port, model, recording's set-up), null unknown. */
  readonly receiver: string | null;
}

/** A plan as drawn and driven: `slots[i]` is the run that filled slot i, null while open or spoiled. */
export interface DrivenPlan {
  readonly design: {
    readonly groups: readonly string[];
    readonly runsPerGroup: number;
    readonly directions: 1 | 2;
    readonly orders: OrderSetName;
  };
  readonly order: readonly number[];
  readonly slots: readonly (number | null)[];
  readonly seed: number;
}

export interface GroupSummary {
  readonly label: string;
  readonly values: readonly number[];
  readonly runs: readonly number[];
  readonly plusMinus95: readonly (number | null)[];
  readonly best: number | null;
  readonly median: number | null;
  readonly mean: number | null;
  /** Scatter of single runs (n - 1), null below two. */
  readonly standardDeviation: number | null;
}

interface Chance {
  readonly pTwoSided: number;
  /** Assignments at least this far apart. */
  readonly extreme: number;
  readonly smallestPossibleP: number;
  readonly method: "exact" | "sampled";
}

export interface Interval {
  readonly low: number;
  readonly high: number;
  readonly coverage: number;
}

/** One figure of a comparison: estimate, interval, chance. */
export interface Difference {
  readonly used: number;
  readonly bestDifference: number | null;
  readonly meanDifference: number | null;
  readonly hodgesLehmann: number | null;
  readonly interval: Interval | null;
  readonly permutation: (Chance & { readonly assignments: number }) | null;
  /** Chance and interval over the orders the plan's lot could have drawn. */
  readonly asPlanned: (Chance & { readonly arrangements: number; readonly interval: Interval | null }) | null;
}

interface SetAside {
  readonly run: number;
  readonly label: string;
  readonly seconds: number | null;
  readonly why: string;
  readonly afterTimeSeen: boolean;
  /** Set aside by the tool when it was stored, as nobody had armed; absent where a person did. */
  readonly unarmed?: true;
}

export interface Comparison extends Difference {
  readonly gate: string;
  readonly start: StartName;
  readonly a: GroupSummary;
  readonly b: GroupSummary;
  readonly setAside: readonly SetAside[];
  readonly notReached: readonly { readonly run: number; readonly why: string }[];
  /** The same with every labelled run in; null when none was set aside. */
  readonly withAllRuns: (Difference & { readonly verdict: string }) | null;
  /** Seconds the interval was widened by on each side for what differs between the groups' measurement. */
  readonly measurementBetweenGroups: { readonly plusMinus: number; readonly why: string } | null;
  readonly drift: DriftFit | null;
  readonly tied: boolean;
  readonly warnings: readonly string[];
  /** One sentence, then its evidence. */
  readonly headline: string;
  readonly verdict: string;
  /** The two-sided chance the verdict rests on: as planned where there is a plan. */
  readonly decides: "asPlanned" | "permutation" | null;
}
