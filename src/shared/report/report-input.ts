/** Everything that a report shows. Times of day are UTC texts; unknown is null. The host collects it; the report only lays it out. */
import type { ResponseTold } from "../judge/response-words.ts";
import type { Figure } from "../align/calibration.ts";
import type { Comparison } from "../judge/judged-run.ts";
import type { OrderSetName } from "../judge/order-set.ts";
import type { lengthWords } from "../judge/usable-length.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { Moment } from "../run/moments.ts";
import type { Flag, SlipSummary } from "../run/run.ts";
import type { SpinAnswer } from "../tune/spin-answer.ts";
import type { TuneAnswer } from "../tune/tune-answer.ts";
import type { RunPrint } from "../run/run-print.ts";

export interface ReportRun {
  readonly id: number;
  readonly uid: string;
  readonly final: boolean;
  readonly label: string;
  /** ISO 8601. */
  readonly startedAt: string | null;
  readonly courseDeg: number | null;
  readonly use: boolean;
  readonly note: string;
  readonly flags: readonly Flag[];
  readonly conditions: Readonly<Record<string, string>>;
  readonly measured: Readonly<Record<string, number | null>>;
  readonly gates: readonly GateResult[];
  readonly slip: SlipSummary;
  /** Marked and noted while driving. */
  readonly moments: readonly Moment[];
  readonly print: RunPrint;
  /** null: provisional, before any calibration. */
  readonly calibrationId: number | null;
}

export interface ReportCalibration {
  readonly id: number;
  readonly rollingRadiusM: Figure;
  readonly gnssDelayS: Figure;
  readonly notes: readonly string[];
}

export interface ReportChange {
  /** ISO 8601; null where unknown. */
  readonly at: string | null;
  readonly run: number | null;
  readonly what: string;
  readonly before: string;
  readonly after: string;
}

interface ReportPlan {
  readonly orders: OrderSetName;
  readonly directions: 1 | 2;
  readonly runsPerGroup: number;
  readonly arrangements: number | null;
  readonly seed: number;
  /** In order. */
  readonly slots: readonly { readonly group: string; readonly direction: string }[];
  readonly length: Parameters<typeof lengthWords>[0];
  readonly runOffNote: string;
}

export interface ReportInput {
  readonly car: string;
  /** "4 May 2031", or null where the receiver gave no date. */
  readonly day: string | null;
  /** True for a simulated car; the report then says so. */
  readonly simulated: boolean;
  readonly softwareVersion: string;
  /** ISO 8601. */
  readonly writtenAt: string;
  /** Wrong wiring that the book shows, one line each. */
  readonly wiring: readonly string[];
  /** In driving order. */
  readonly runs: readonly ReportRun[];
  /** The terms by which they were chosen, and the runs of the whole book; null: the report is of all. */
  readonly only: { readonly where: readonly string[]; readonly ofRuns: number } | null;
  /** Groups of the book: a group's place is its mark. */
  readonly groups: readonly string[];
  /** Numbers of the runs to show one by one; null: the report chooses. */
  readonly shown: readonly number[] | null;
  /** Of how many newest runs a group `tune` is, where that is not all; null: of all. */
  readonly tunedNewest: number | null;
  /** One pair, or every pair; the first one opens the page. Empty: nothing to compare yet. */
  readonly comparisons: readonly Comparison[];
  readonly response: ResponseTold;
  readonly plan: ReportPlan | null;
  readonly tune: TuneAnswer;
  /** Null without a run in use, and of a season. */
  readonly spin: SpinAnswer | null;
  readonly calibrations: readonly ReportCalibration[];
  readonly changes: readonly ReportChange[];
  /** The set-up file's text. */
  readonly setUp: string;
}
