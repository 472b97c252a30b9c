/** The result of timing a gate. JSON-safe: unknown is null, never NaN. */

export type StartName = "movement" | "1 ft" | "entry";

export interface GateResult {
  /** "0-60 mph", "60 ft", "50-100 km/h", "60-0 mph" ... */
  readonly gate: string;
  readonly start: StartName;
  readonly seconds: number | null;
  readonly plusMinus95: number | null;
  /** Base time of the crossing, s; null when not reached. */
  readonly atS: number | null;
  readonly exitSpeedKmh?: number;
  /** For stop gates: metres from the first speed to standing. */
  readonly distanceM?: number;
  /** Why it has no time. */
  readonly why?: string;
  /** The same gate timed by the driven wheels, to show how much a spinning wheel would improve the time. */
  readonly wheelSeconds?: number | null;
}
