/** What the screens are told of what to change next. Seconds unless named otherwise; unknown is null with a reason beside it. */
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
  readonly gates: readonly TimedGateView[];
  readonly labels: readonly { readonly label: string; readonly runs: number }[];
}

/** One run against the quickest that the whole book's tyre and car allow. */
export interface RunTuneView {
  readonly run: number;
  readonly gate: string;
  readonly losses: RunLosses | null;
  /** Why there are none; null where there are. */
  readonly why: string | null;
  readonly grip: GripCurve | null;
  /** Each time its torque was held back, told with the control of its group. */
  readonly interventions: readonly Intervention[];
  /** Why something of them is unknown, in sentences. */
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
  /** The same with a control that looks more or less often. */
  readonly looks: readonly LookingRate[];
}

/** The JSON of `notice`: how early each way of noticing spin would have noticed. */
export interface NoticeView {
  readonly ways: readonly NoticeAnswer[];
  /** A fixed limit on wheel acceleration, swept, each surface by itself; empty where that way was not asked for. */
  readonly limits: readonly LimitPoint[];
  readonly notes: readonly string[];
}
