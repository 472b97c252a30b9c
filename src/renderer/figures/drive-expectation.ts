/**
 * Where posts are drawn before their gates are passed, and how long the axis is: as in the last run with the same label. Without such a run
 * there are no posts.
 */
import type { RunRow, RunView } from "../../shared/contract/contract.ts";
import { largest, seamScales, type SeamScales } from "../../shared/draw/seam-columns.ts";
import { units } from "../screen/units.ts";

export interface Expectation {
  readonly label: string;
  readonly gates: readonly { readonly gate: string; readonly seconds: number }[];
}

const USUAL_AXIS_S = 7;

/** The newest run with a label that is in use. */
export const lastOf = (runs: readonly RunRow[], label: string): RunRow | undefined =>
  runs.filter((run) => run.label === label && run.use).at(-1);

/** The few posts whose names fit side by side in letters for arm's length. */
export const POSTS: readonly string[] = ["0-30 mph", "60 ft", "0-60 mph"];

export function expectationOf(view: RunView): Expectation {
  const gates = view.gates
    .filter((gate) => gate.start === "movement" && gate.seconds !== null && POSTS.includes(gate.gate))
    .map((gate) => ({ gate: gate.gate, seconds: gate.seconds as number }))
    .sort((a, b) => a.seconds - b.seconds);
  return { label: view.run.label, gates };
}

/** A whole number of seconds with room after the last post; doubled until it contains the launch, so the print never scrolls. */
export function axisSeconds(expectation: Expectation | null, launchS: number | null): number {
  const last = expectation?.gates.at(-1)?.seconds;
  let axis = last === undefined ? USUAL_AXIS_S : Math.ceil(last * 1.25);
  while (launchS !== null && launchS > axis) axis *= 2;
  return axis;
}

const known = new WeakMap<readonly RunRow[], SeamScales>();

/** The day's scales, from every print in the book; computed once for each list of runs and choice of units. */
export function dayScales(runs: readonly RunRow[]): SeamScales {
  const before = known.get(runs);
  const scales = before?.units === units() ? before : scalesOf(runs);
  known.set(runs, scales);
  return scales;
}

function scalesOf(runs: readonly RunRow[]): SeamScales {
  const slip = Math.max(0, ...runs.map((run) => largest(run.print.slipKmh)));
  const held = Math.max(0, ...runs.map((run) => largest(run.print.heldNm)));
  return seamScales(slip, held, units());
}
