/** What the screens are told about what to change next. Seconds unless named otherwise; unknown is null with a reason beside it. */
import type { StartName } from "../launch/gate-result.ts";
import type { GripCurve } from "../tune/grip-curve.ts";
import type { Intervention } from "../tune/interventions.ts";
import type { LookingRate } from "../tune/looking-rates.ts";
import type { RunLosses } from "../tune/loss-count.ts";
import type { LimitPoint, NoticeAnswer } from "../tune/notice.ts";
import type { Prediction } from "../tune/predict.ts";
import type { Trial } from "../tune/trial.ts";
import type { TuneAnswer } from "../tune/tune-answer.ts";
import type { TimedGateView } from "./judge-views.ts";

export interface TuneView extends TuneAnswer {
  /** Terms that hold for every run that was used; empty: all runs. */
  readonly where: readonly string[];
  readonly gates: readonly TimedGateView[];
  readonly labels: readonly { readonly label: string; readonly runs: number }[];
}

/** One run compared with the quickest time that the tyre and car of the whole book allow. */
export interface RunTuneView {
  readonly run: number;
  readonly gate: string;
  readonly losses: RunLosses | null;
  /** Why there are none; null where there are some. */
  readonly why: string | null;
  readonly grip: GripCurve | null;
  /** Each time its torque was held back, analysed with the control of its group. */
  readonly interventions: readonly Intervention[];
  /** Why something about them is unknown, in sentences. */
  readonly controlWhy: readonly string[];
  readonly movementS: number | null;
}

/** The JSON of `predict`: a change tried on the fitted car. */
export interface PredictAnswer extends Omit<Prediction, "course"> {
  /** Never a measurement. */
  readonly simulation: true;
  readonly group: string;
  readonly gate: string;
  readonly start: StartName;
  readonly trial: Trial;
  /** The same with a control that looks more often or less often. */
  readonly looks: readonly LookingRate[];
}

/** The JSON of `notice`: how early each way would have noticed spin. */
export interface NoticeView {
  readonly ways: readonly NoticeAnswer[];
  /** A limit on wheel acceleration at many values, for each surface; empty where this way was not asked for. */
  readonly limits: readonly LimitPoint[];
  readonly notes: readonly string[];
}

/** How early spin would have been noticed in the whole book, and what a control that looks more or less often would have made of one group, simulated. */
export interface SpinView {
  readonly notice: NoticeView;
  /** Null where no group was asked for. */
  readonly predicted: PredictAnswer | null;
}
