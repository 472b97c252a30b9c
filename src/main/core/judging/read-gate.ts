/** Reads a gate as people type it: two ends with their units. A wrong one throws RangeError with what is possible. */
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { FASTEST_MPS, LONGEST_M } from "../../../shared/contract/wiring-contract.ts";
import { KMH_PER_MPS, M_PER_FOOT, M_PER_MILE, MPS_PER_KMH, MPS_PER_MPH } from "../../../shared/kernel/units.ts";
import type { Gate } from "../../../shared/launch/gate.ts";

const SPEEDS: Readonly<Record<string, number>> = { "km/h": MPS_PER_KMH, mph: MPS_PER_MPH, "m/s": 1 };
const LENGTHS: Readonly<Record<string, number>> = { m: 1, ft: M_PER_FOOT, mile: M_PER_MILE };

interface Quantity {
  readonly kind: "speed" | "length";
  readonly value: number;
}

function readQuantity(text: string, place: string): Quantity {
  const match = /^(\d+(?:\.\d+)?)\s*(\S+)$/.exec(text.trim());
  const [value, unit] = [Number(match?.[1]), match?.[2] ?? ""];
  const speed = ofWord(SPEEDS, unit);
  const length = ofWord(LENGTHS, unit);
  if (match !== null && speed !== undefined && value * speed <= FASTEST_MPS) return { kind: "speed", value: value * speed };
  if (match !== null && length !== undefined && value * length <= LONGEST_M) return { kind: "length", value: value * length };
  throw new RangeError(
    `Expected ${place} like "20 km/h", "60 mph" or "100 m" (${[...Object.keys(SPEEDS), ...Object.keys(LENGTHS)].join(", ")}; at most ${Math.round(FASTEST_MPS * KMH_PER_MPS)} km/h, ${LONGEST_M} m), got ${JSON.stringify(text)}`,
  );
}

/** `from` and `to` with the names of the fields they were typed into. */
export function readGate(
  name: string,
  [fromText, fromPlace]: readonly [string, string],
  [toText, toPlace]: readonly [string, string],
): Gate {
  const from = readQuantity(fromText, fromPlace);
  const to = readQuantity(toText, toPlace);
  if (from.kind !== "speed") throw new RangeError(`Expected ${fromPlace} with a speed, got ${JSON.stringify(fromText)}`);
  if (to.kind === "length") {
    if (from.value !== 0 || to.value === 0)
      throw new RangeError(`A distance is timed from standing: expected ${fromPlace} "0 km/h" and ${toPlace} with a length over 0`);
    return { kind: "distance", name, distanceM: to.value };
  }
  if (to.value > from.value)
    return from.value === 0 ? { kind: "standing", name, toMps: to.value } : { kind: "rolling", name, fromMps: from.value, toMps: to.value };
  if (to.value === 0 && from.value > 0) return { kind: "stop", name, fromMps: from.value };
  throw new RangeError(`Expected ${toPlace} above ${fromPlace}, or "0 km/h" for a stop, got ${fromText} to ${toText}`);
}
