/** A run as comparisons need it, and the result of a comparison. Seconds; unknown is null. */
import type { OrderSetName } from "./order-set.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { DriftFit } from "./drift.ts";

/** What runs are compared within. */
export const STRATA_FACTORS = ["day", "surface", "direction", "car", "plan"] as const;
export type StrataFactor = (typeof STRATA_FACTORS)[number];

export interface JudgedRun {
  readonly id: number;
  readonly label: string;
  /** Whether `show` calls it final; provisional runs are used with a warning. */
  readonly final: boolean;
  /** Any number that grows in driving order (start time, sequence). */
  readonly drivenAt: number;
  /** The gate's time; null where the gate was not reached, with the reason. */
  readonly seconds: number | null;
  readonly plusMinus95: number | null;
  readonly why?: string;
  readonly courseDeg: number | null;
  /** False where a person set the run aside. A flag alone sets nothing aside. */
  readonly use: boolean;
  readonly note: string;
  /** Whether the time was visible when a person set the run aside; null when no person did. */
  readonly setAsideAfterTimeSeen: boolean | null;
  readonly flags: readonly { readonly flag: string; readonly why: string }[];
  /** What people noted: surface, tyre pressure ... */
  readonly conditions: Readonly<Record<string, string>>;
  /** Conditions that bus signals show: charge %, temperatures degC. */
  readonly measured: Readonly<Record<string, number | null>>;
  /** null: before any calibration. */
  readonly calibrationId: number | null;
  /** Identifies the receiver (port, model, recording's set-up); null unknown. */
  readonly receiver: string | null;
  /** The day driven, "2031-05-04" (run/driving-days.ts), null unknown. */
  readonly day: string | null;
  /** The set-up's name of the car, null unknown. */
  readonly car: string | null;
  /** The number of the plan that it filled a slot of, null without one. */
  readonly planned: number | null;
}

/** A plan as drawn and driven: `slots[i]` is the run in slot i, null while open or spoiled. */
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
  /** Assignments with a difference at least this large. */
  readonly extreme: number;
  readonly smallestPossibleP: number;
  readonly method: "exact" | "sampled";
}

export interface Interval {
  readonly low: number;
  readonly high: number;
  readonly coverage: number;
}

/** Runs of both groups that were compared with each other. */
interface StratumSummary {
  readonly name: string;
  readonly a: number;
  readonly b: number;
  readonly hodgesLehmann: number;
}

/** Where the setting is worth different amounts by one factor: Cochran's Q over its levels. */
export interface EffectDiffers {
  readonly by: StrataFactor;
  /** Chance of such unlike levels if the setting were worth the same in all, times the factors looked at. */
  readonly p: number;
  /** Least shift first. */
  readonly levels: readonly (Interval & {
    readonly name: string;
    readonly a: number;
    readonly b: number;
    readonly hodgesLehmann: number;
  })[];
}

/** The shift and interval that stand in the sentence: those of the test that decides. */
export interface Said extends Interval {
  readonly shift: number;
  /** Over the orders that the plan could have drawn. */
  readonly planned: boolean;
}

/** One figure of a comparison: estimate, interval, chance; all but `asPlanned` of the one test within strata. */
export interface Difference {
  readonly used: number;
  /** What runs were compared within; empty: all with all. */
  readonly by: readonly StrataFactor[];
  readonly strata: readonly StratumSummary[];
  /** "4 days, dry and wet: compared within each", null without strata. */
  readonly within: string | null;
  /** Runs whose stratum holds none of the other group: they count in no difference. */
  readonly alone: readonly number[];
  readonly bestDifference: number | null;
  readonly meanDifference: number | null;
  readonly hodgesLehmann: number | null;
  readonly interval: Interval | null;
  /** Labels dealt anew inside each stratum; `z`: the weighted rank sum's distance from its middle, in standard deviations. */
  readonly permutation: (Chance & { readonly assignments: number; readonly z: number }) | null;
  /** Chance and interval over the orders the plan's lot could have drawn. */
  readonly asPlanned: (Chance & { readonly arrangements: number; readonly shift: number; readonly interval: Interval | null }) | null;
}

interface SetAside {
  readonly run: number;
  readonly label: string;
  readonly seconds: number | null;
  readonly why: string;
  readonly afterTimeSeen: boolean;
  /** Set aside by Gripbook when it was stored, because nobody had armed; absent where a person did it. */
  readonly unarmed?: true;
}

export interface Comparison extends Difference {
  readonly gate: string;
  readonly start: StartName;
  readonly a: GroupSummary;
  readonly b: GroupSummary;
  readonly setAside: readonly SetAside[];
  readonly notReached: readonly { readonly run: number; readonly why: string }[];
  /** The same with every labelled run included; null when none was set aside. */
  readonly withAllRuns: (Difference & { readonly verdict: string }) | null;
  /** Seconds added to each side of the interval because the groups were measured differently. */
  readonly measurementBetweenGroups: { readonly plusMinus: number; readonly why: string } | null;
  /** Null too where runs of several days are compared: no line runs through them. */
  readonly drift: DriftFit | null;
  /** Fewest levels first; empty where nothing speaks for it. */
  readonly effectDiffers: readonly EffectDiffers[];
  /** Null where there are too few runs for any interval. */
  readonly said: Said | null;
  /** "slip target 8 % in off, 6 % in on": the condition that is compared, where notes and labels say it; null where not. */
  readonly subject: string | null;
  readonly tied: boolean;
  readonly warnings: readonly string[];
  /** One sentence, then its evidence. */
  readonly headline: string;
  readonly verdict: string;
  /** The two-sided chance that decides the verdict: as planned where there is a plan. */
  readonly decides: "asPlanned" | "permutation" | null;
}
