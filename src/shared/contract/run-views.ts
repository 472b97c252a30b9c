/** Stored runs as screens and the command line read them: a row of the list, everything known of one, its columns, what was noted. */
import type { Figure } from "../align/calibration.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { Moment } from "../run/moments.ts";
import type { RunPrint } from "../run/run-print.ts";
import type { Flag, SlipSummary } from "../run/run.ts";

export interface RunRow {
  readonly id: number;
  readonly uid: string;
  readonly final: boolean;
  readonly label: string;
  readonly startedAt: string | null;
  readonly courseDeg: number | null;
  /** The main gate (0-60 mph); null when not reached. */
  readonly seconds: number | null;
  readonly plusMinus95: number | null;
  readonly flags: readonly Flag[];
  readonly use: boolean;
  readonly note: string;
  /** The day driven, "2031-05-04"; in lists alone, and left out where it is unknown. */
  readonly day?: string;
  /** Texts of the notes made while driving, in order of time; in lists alone, and left out where there are none. */
  readonly noted?: readonly string[];
  /** In lists alone, and left out where there are none. */
  readonly conditions?: Readonly<Record<string, string>>;
  /** Print for the row of prints: slip speed km/h above, torque held back Nm below, one value each 50 ms from movement on; null unknown. */
  readonly print: RunPrint;
}

/** The JSON of `show RUN`. */
export interface RunView {
  readonly run: {
    readonly id: number;
    readonly uid: string;
    readonly final: boolean;
    readonly label: string;
    readonly startedAt: string | null;
    readonly courseDeg: number | null;
    readonly flags: readonly Flag[];
    readonly use: boolean;
    readonly note: string;
    readonly conditions: Readonly<Record<string, string>>;
    readonly measured: Readonly<Record<string, number | null>>;
    readonly windowFromS: number;
    readonly windowToS: number;
  };
  readonly gates: readonly GateResult[];
  readonly slip: SlipSummary;
  /** Marked and noted while driving, in order of time. */
  readonly moments: readonly Moment[];
  readonly calibration: {
    readonly id: number;
    readonly rollingRadiusM: Figure;
    readonly gnssDelayS: Figure;
    readonly notes: readonly string[];
  };
}

export interface RunsConditionsView {
  /** Of each run that was asked for, in that order. */
  readonly runs: readonly Readonly<Record<string, string>>[];
  /** Every key that was noted with any run of the book, sorted. */
  readonly keys: readonly string[];
}

/** One run's aligned samples; `timeS` is 0 at start "movement"; NaN where unknown. */
export interface RunColumns {
  readonly names: readonly string[];
  readonly units: readonly string[];
  readonly columns: readonly Float32Array[];
}
