/** What a screen is told while data come in. The live session makes it, and the contract carries it unchanged. */
import type { LaunchState } from "../launch/launch-states.ts";

export type { LaunchState };

export type SourceState = "fresh" | "stale" | "waiting" | "absent" | "wrong";

export interface SourceHealth {
  readonly state: SourceState;
  /** Words for people: "10 Hz, 3D fix, 14 satellites", "silent for 4 s", "garbage at this baud: try 38400". */
  readonly words: string;
}

/** Sent up to 60 times a second while a screen is connected; every value is null when unknown or stale. */
export interface LiveEvent {
  readonly event: "live";
  /** Base time, s. */
  readonly tS: number;
  readonly state: LaunchState;
  readonly stateSinceS: number;
  readonly nextLabel: string;
  readonly runsStored: number;
  readonly groundSpeedMps: number | null;
  readonly wheelSpeedMps: number | null;
  readonly slipSpeedMps: number | null;
  /** (wR - v) / v; null below 10 km/h. */
  readonly slipRatio: number | null;
  /** The greatest value since the event before, so that no spike is lost when the bus is faster than the screen. */
  readonly greatestSlipSpeedMps: number | null;
  readonly greatestHeldNm: number | null;
  readonly torqueRequestNm: number | null;
  readonly torqueDeliveredNm: number | null;
  readonly pedalPercent: number | null;
  readonly stateOfCharge: number | null;
  readonly tractionControlEnabled: boolean | null;
  readonly intervening: boolean | null;
  readonly gnss: SourceHealth;
  readonly can: SourceHealth;
  /** Launch clock while launched, s since movement (causal). */
  readonly launchS: number | null;
  /** Gates passed in this launch so far; `settled` once the fitted value has replaced the causal one. */
  readonly gates: readonly {
    readonly gate: string;
    readonly seconds: number;
    readonly plusMinus95: number | null;
    readonly settled: boolean;
  }[];
  readonly nextGate: string | null;
  /** °C by role where mapped; null unknown. Absent before a recording. */
  readonly temperatures?: Readonly<Record<string, number | null>>;
  /** State of the test plan, null or absent without one; `ready` is false while something must be waited for. */
  readonly plan?: {
    readonly words: string;
    /** Of the whole plan, in its order. */
    readonly groups?: readonly string[];
    readonly group: string | null;
    readonly direction: string | null;
    readonly ready: boolean;
    readonly done: number;
    readonly total: number;
  } | null;
  /** Age of the oldest byte in this event when it was sent, ms. */
  readonly ageMs: number;
}
