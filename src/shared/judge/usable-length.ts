/**
 * The length a plan's gates need: way to the highest speed or last distance + stop at 0.5 g, and half as much
 * again. What no run has shown yet is assumed on the long side, which the answer says.
 */
import { ofWord } from "../kernel/by-word.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import { type Gate, gateEnds } from "../launch/gate.ts";

/** docs/design.md, safety. */
const STOP_MPS2 = 0.5 * STANDARD_GRAVITY_MPS2;
const RESERVE = 1.5;
/** Until a run shows the way to a speed: a slow launch needs the longest one. */
const ASSUMED_SLOW_MPS2 = 3;
/** Until a run shows the speed at a distance: a quick one needs the longest stop (close to what dry tyres hold on one axle). */
const ASSUMED_QUICK_MPS2 = 6;

/** What runs have shown of a gate: way to it and speed there. */
export interface SeenGate {
  readonly distanceM?: number;
  readonly exitSpeedMps?: number;
}

export interface LengthCheck {
  readonly neededM: number;
  readonly givenM: number;
  readonly fits: boolean;
  /** The gate that needs the most. */
  readonly gate: string;
  readonly wayM: number;
  readonly stopM: number;
  readonly assumed: boolean;
  /** The sum, for people. */
  readonly words: string;
}

/** Metres to stand at 0.5 g. */
export function stopM(speedMps: number): number {
  return speedMps ** 2 / (2 * STOP_MPS2);
}

function wayAndSpeed(gate: Gate, seen: SeenGate | undefined): { wayM: number; speedMps: number; assumed: boolean } {
  const { fromMps, to } = gateEnds(gate);
  const enteredMps = fromMps ?? 0;
  if (to.what === "distance") {
    const speedMps = seen?.exitSpeedMps ?? Math.sqrt(enteredMps ** 2 + 2 * ASSUMED_QUICK_MPS2 * to.m);
    return { wayM: enteredMps ** 2 / (2 * ASSUMED_SLOW_MPS2) + to.m, speedMps, assumed: seen?.exitSpeedMps === undefined };
  }
  const speedMps = to.what === "standing" ? enteredMps : to.mps;
  return { wayM: seen?.distanceM ?? speedMps ** 2 / (2 * ASSUMED_SLOW_MPS2), speedMps, assumed: seen?.distanceM === undefined };
}

/** Checks `givenM` against the gate that needs most. Throws RangeError without gates or for a length that is none. */
export function checkUsableLength(gates: readonly Gate[], givenM: number, seen: Readonly<Record<string, SeenGate>> = {}): LengthCheck {
  if (!(givenM > 0)) throw new RangeError(`Expected the usable length in metres, got ${givenM}`);
  const needs = gates.map((gate) => {
    const { wayM, speedMps, assumed } = wayAndSpeed(gate, ofWord(seen, gate.name));
    const stop = stopM(speedMps);
    return { gate: gate.name, wayM, stopM: stop, assumed, neededM: RESERVE * (wayM + stop) };
  });
  const most = needs.reduce<(typeof needs)[0] | null>((top, need) => (top === null || need.neededM > top.neededM ? need : top), null);
  if (!most) throw new RangeError("Expected at least one gate in the plan, got none");
  // Rounded before the comparison, so that the words can never contradict the answer.
  const neededM = Math.ceil(most.neededM - 0.5);
  const sum = `1.5 x (${Math.round(most.wayM)} m to ${most.gate}${most.assumed ? ", assumed until a run shows it," : ""} + ${Math.round(most.stopM)} m to stop at 0.5 g)`;
  return { ...most, neededM, givenM, fits: givenM >= neededM, words: `${neededM} m needed, ${Math.floor(givenM)} m given: ${sum}` };
}
