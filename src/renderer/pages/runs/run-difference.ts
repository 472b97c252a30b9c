/**
 * How far one run is ahead of another in time, at equal ground speed from movement on; NaN where one of them never has that speed or it is
 * unknown.
 */
import { postName } from "../../screen/format.ts";
import { lessAsShown } from "../../../shared/kernel/number-words.ts";
import { sharedGates } from "./overlay-align.ts";
import type { RunData } from "./run-data.ts";

/** The first time at which each speed was reached; a dip in between changes nothing. */
function firstReached(data: RunData): { readonly speed: number[]; readonly timeS: number[] } {
  const ground = data.column("groundSpeedKmh");
  const speed: number[] = [];
  const timeS: number[] = [];
  for (let i = data.rowAt(0); i < ground.length; i += 1) {
    const value = ground[i];
    if (Number.isNaN(value) || value <= (speed.at(-1) ?? 0)) continue;
    speed.push(value);
    timeS.push(data.timeS[i] as number);
  }
  return { speed, timeS };
}

/** Time at which a speed was first reached, linear between samples; NaN beyond the highest speed. */
function timeAt(reached: ReturnType<typeof firstReached>, speed: number): number {
  const { speed: speeds, timeS } = reached;
  const above = speeds.findIndex((value) => value >= speed);
  if (above <= 0) return Number.NaN;
  const [low, high] = [speeds[above - 1], speeds[above]];
  const [from, to] = [timeS[above - 1], timeS[above]];
  return from + ((speed - low) / (high - low)) * (to - from);
}

/**
 * For each sample of `data`: seconds ahead of `reference` (negative: behind) when it first had its speed; the reference is moved later by
 * `shiftS`.
 */
export function secondsAhead(data: RunData, reference: RunData, shiftS = 0): Float32Array {
  const other = firstReached(reference);
  const ground = data.column("groundSpeedKmh");
  const ahead = new Float32Array(data.timeS.length).fill(Number.NaN);
  let fastest = 0;
  for (let i = data.rowAt(0); i < ahead.length; i += 1) {
    const value = ground[i];
    if (!(value > fastest)) continue;
    fastest = value;
    ahead[i] = timeAt(other, value) + shiftS - data.timeS[i];
  }
  return ahead;
}

const HEAD_GATE = "0-60 mph";

/**
 * "Run 8 is 0.63 s ahead of run 4 at 60 mph", or why that cannot be said. With alignment at a gate: what was gained from there to 60 mph
 * or, where that lies before, to the last gate that both passed.
 */
export function differenceWords(data: RunData, reference: RunData, aligned: string | null = null): string {
  const seconds = (run: RunData, name: string) =>
    run.view.gates.find((gate) => gate.gate === name && gate.start === "movement")?.seconds ?? null;
  const names = [`Run ${data.view.run.id}`, `run ${reference.view.run.id}`] as const;
  const gates = sharedGates(data, reference);
  const head = aligned === null || gates.indexOf(HEAD_GATE) > gates.indexOf(aligned) ? HEAD_GATE : (gates.at(-1) as string);
  const from = aligned === null ? "" : `From ${postName(aligned)} on, `;
  const told = (words: string) => (from === "" ? words : `${from}${words.charAt(0).toLowerCase()}${words.slice(1)}`);
  if (head === aligned) return `${names[0]} over ${names[1]}, aligned at ${postName(aligned)}, the last gate that both passed.`;
  const [b, a] = [seconds(data, head), seconds(reference, head)];
  if (a === null || b === null) return `${names[0]} over ${names[1]}: ${a === null ? names[1] : names[0]} did not reach 60 mph.`;
  // Of the times as the shelf shows them, which a reader subtracts; from a gate on, nobody does.
  const gain =
    aligned === null ? lessAsShown(a, b, 2) : a - b - ((seconds(reference, aligned) as number) - (seconds(data, aligned) as number));
  if (Math.abs(gain) < 0.005) return told(`${names[0]} and ${names[1]} reach ${postName(head)} together.`);
  return told(`${names[0]} is ${Math.abs(gain).toFixed(2)} s ${gain > 0 ? "ahead of" : "behind"} ${names[1]} at ${postName(head)}.`);
}
