/**
 * The length that a plan's gates need: the way to the highest speed or last distance, plus stopping at 0.5 g, plus half of the sum. What no
 * run has shown yet is assumed on the safe side, and the answer says so.
 */
import { ofWord } from "../kernel/by-word.ts";
import { STANDARD_GRAVITY_MPS2 } from "../kernel/units.ts";
import { KMH_AND_M, saidIn, saidLength } from "../kernel/shown-units.ts";
import { type Gate, gateEnds } from "../launch/gate.ts";

/** docs/design.md, safety. */
const STOP_MPS2 = 0.5 * STANDARD_GRAVITY_MPS2;
const RESERVE = 1.5;
/** Used until a run shows the way to a speed: a slow launch needs the longest way. */
const ASSUMED_SLOW_MPS2 = 3;
/** Used until a run shows the speed at a distance: a quick launch needs the longest stop (close to what dry tyres on one axle can do). */
const ASSUMED_QUICK_MPS2 = 6;

/** What runs have shown of a gate: the way to it and the speed there. */
export interface SeenGate {
  readonly distanceM?: number;
  readonly exitSpeedMps?: number;
}

export interface LengthCheck {
  readonly neededM: number;
  readonly givenM: number;
  readonly fits: boolean;
  /** The gate that needs most length. */
  readonly gate: string;
  readonly wayM: number;
  readonly stopM: number;
  readonly assumed: boolean;
  /** The same as a sentence in metres; lengthWords() for people. */
  readonly words: string;
}

/** Stopping distance at 0.5 g, m. */
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

/** Compares `givenM` with the gate that needs most. Throws RangeError without gates or for an impossible length. */
export function checkUsableLength(gates: readonly Gate[], givenM: number, seen: Readonly<Record<string, SeenGate>> = {}): LengthCheck {
  if (!(givenM > 0)) throw new RangeError(`Expected the usable length in metres, got ${givenM}`);
  const needs = gates.map((gate) => {
    const { wayM, speedMps, assumed } = wayAndSpeed(gate, ofWord(seen, gate.name));
    const stop = stopM(speedMps);
    return { gate: gate.name, wayM, stopM: stop, assumed, neededM: RESERVE * (wayM + stop) };
  });
  const most = needs.reduce<(typeof needs)[0] | null>((top, need) => (top === null || need.neededM > top.neededM ? need : top), null);
  if (!most) throw new RangeError("Expected at least one gate in the plan, got none");
  // Rounded before the comparison, so that the words never contradict the answer.
  const neededM = Math.ceil(most.neededM - 0.5);
  const check = { ...most, neededM, givenM, fits: givenM >= neededM };
  return { ...check, words: saidIn(KMH_AND_M, lengthWords(check)) };
}

/** The calculation as a sentence whose lengths follow its reader's units; in none of them does it contradict the answer. */
export function lengthWords({ neededM, givenM, wayM, stopM: stop, gate, assumed }: Omit<LengthCheck, "words" | "fits">): string {
  const way = `${saidLength(wayM)} to ${gate}${assumed ? ", assumed until a run shows it," : ""}`;
  const given = givenM >= neededM ? saidLength(givenM, "+") : saidLength(givenM, "-");
  return `${saidLength(neededM, "+")} needed, ${given} given: 1.5 × (${way} + ${saidLength(stop)} to stop at 0.5 g)`;
}
