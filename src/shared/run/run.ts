/** A derived run: only figures, no database ids. JSON-safe: unknown is null, never NaN. */
import type { GateResult } from "../launch/gate-result.ts";

export type FlagName =
  | "wheelspin"
  | "slope"
  | "receiver"
  | "frames"
  | "charge"
  | "temperature"
  | "derated"
  | "unpaired"
  | "aborted"
  | "interrupted"
  | "pedal"
  | "switched"
  | "slowReceiver"
  | "wiring";

export interface Flag {
  readonly flag: FlagName;
  /** One sentence. */
  readonly why: string;
  /** A person's note on why the flag does not count here; absent where nobody overruled it. */
  readonly overruled?: string;
}

/** One row each 10 ms from 5 s before the start to 3 s after the end; NaN where unknown. */
export interface RunSamples {
  readonly tS: Float64Array;
  readonly groundSpeedMps: Float64Array;
  readonly groundSpeedSigmaMps: Float64Array;
  readonly wheelSpeedMps: Float64Array;
  readonly slipSpeedMps: Float64Array;
  readonly slipRatio: Float64Array;
  readonly slipSigma: Float64Array;
  readonly distanceM: Float64Array;
  readonly accelerationMps2: Float64Array;
  /** Every mapped role (lists as "undrivenWheelSpeeds.0" ...): the last frame's value, NaN when stale. */
  readonly roles: Readonly<Record<string, Float64Array>>;
}

export interface SlipSummary {
  readonly peakSlipSpeedKmh: number | null;
  readonly peakSlipRatio: number | null;
  readonly secondsAbove10Percent: number | null;
}

/** What one run shows of the road's slope; two directions together give the slope (two-way-slope.ts). */
export interface SlopeSigns {
  /** Where the car stood before the launch. */
  readonly place: { readonly latDeg: number; readonly lonDeg: number } | null;
  /** Metres driven while altitude changed by altitudeChangeM. */
  readonly lengthM: number | null;
  /** Mean acceleration from 36 to 90 km/h minus the one that delivered torque gives the set-up's mass; drag is not subtracted. */
  readonly surplusMps2: number | null;
}

export interface DerivedRun {
  /** Stable name of the launch: a hash over the raw frames around its trigger. */
  readonly uid: string;
  /** Base time of start "movement", s, and its 95 % half width. */
  readonly movementS: number;
  readonly movementPlusMinus95: number;
  readonly startedAtUtcMs: number | null;
  readonly windowFromS: number;
  readonly windowToS: number;
  readonly courseDeg: number | null;
  readonly altitudeChangeM: number | null;
  /** Absent in runs that an earlier version of Gripbook derived. */
  readonly slopeSigns?: SlopeSigns;
  readonly gates: readonly GateResult[];
  readonly slip: SlipSummary;
  readonly flags: readonly Flag[];
  /** Conditions that bus signals show: charge %, temperatures, switch. */
  readonly measured: Readonly<Record<string, number | null>>;
  readonly samples: RunSamples;
}
