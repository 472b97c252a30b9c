/** Gates: what is timed. Speeds m/s, distances m; names are shown as they are. */
import { M_PER_FOOT, M_PER_MILE, MPS_PER_KMH, MPS_PER_MPH } from "../kernel/units.ts";
import type { StartName } from "./gate-result.ts";

export type Gate =
  | { readonly kind: "standing"; readonly name: string; readonly toMps: number }
  | { readonly kind: "rolling"; readonly name: string; readonly fromMps: number; readonly toMps: number }
  | { readonly kind: "distance"; readonly name: string; readonly distanceM: number }
  | { readonly kind: "stop"; readonly name: string; readonly fromMps: number };

/** Where a gate begins and ends: all that the rest of the code needs to know about its kind. */
export interface GateEnds {
  /** The starts that it can be timed from; the usual one first. */
  readonly starts: readonly [StartName, ...StartName[]];
  /** Speed at which the gate begins, m/s; null from standing. */
  readonly fromMps: number | null;
  readonly to:
    | { readonly what: "speed"; readonly mps: number }
    | { readonly what: "distance"; readonly m: number }
    | { readonly what: "standing" };
}

/** A kind added to Gate does not compile until it is handled here. */
export function gateEnds(gate: Gate): GateEnds {
  switch (gate.kind) {
    case "standing":
      return { starts: ["movement", "1 ft"], fromMps: null, to: { what: "speed", mps: gate.toMps } };
    case "rolling":
      return { starts: ["entry"], fromMps: gate.fromMps, to: { what: "speed", mps: gate.toMps } };
    case "distance":
      return { starts: ["movement", "1 ft"], fromMps: null, to: { what: "distance", m: gate.distanceM } };
    case "stop":
      return { starts: ["entry"], fromMps: gate.fromMps, to: { what: "standing" } };
  }
}

/** The start that a gate is timed from unless another is asked for. */
export const startOfGate = (gate: Gate): StartName => gateEnds(gate).starts[0];

const mph = (value: number) => value * MPS_PER_MPH;
const kmh = (value: number) => value * MPS_PER_KMH;

export const STANDARD_GATES: readonly Gate[] = [
  { kind: "standing", name: "0-30 mph", toMps: mph(30) },
  { kind: "standing", name: "0-60 mph", toMps: mph(60) },
  { kind: "standing", name: "0-100 mph", toMps: mph(100) },
  { kind: "standing", name: "0-100 km/h", toMps: kmh(100) },
  { kind: "standing", name: "0-200 km/h", toMps: kmh(200) },
  { kind: "rolling", name: "30-60 mph", fromMps: mph(30), toMps: mph(60) },
  { kind: "rolling", name: "60-100 mph", fromMps: mph(60), toMps: mph(100) },
  { kind: "rolling", name: "50-100 km/h", fromMps: kmh(50), toMps: kmh(100) },
  { kind: "rolling", name: "80-120 km/h", fromMps: kmh(80), toMps: kmh(120) },
  { kind: "distance", name: "60 ft", distanceM: 60 * M_PER_FOOT },
  { kind: "distance", name: "1/8 mile", distanceM: M_PER_MILE / 8 },
  { kind: "distance", name: "1/4 mile", distanceM: M_PER_MILE / 4 },
  { kind: "stop", name: "60-0 mph", fromMps: mph(60) },
  { kind: "stop", name: "100-0 km/h", fromMps: kmh(100) },
];
