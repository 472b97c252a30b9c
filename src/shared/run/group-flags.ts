/** What only shows beside the other runs of a group: charge or temperature out of line, a direction without a partner. Sets nothing aside. */
import type { Flag } from "./run.ts";
import { medianOf } from "./timed-lookup.ts";

/** What a group flag looks at; a DerivedRun fits. */
export interface GroupedRun {
  readonly uid: string;
  readonly courseDeg: number | null;
  readonly measured: Readonly<Record<string, number | null>>;
}

// Common practice, no source: power falls noticeably beyond these.
const MOST_CHARGE_POINTS = 15;
const MOST_KELVIN = 15;
const OPPOSITE_WITHIN_DEG = 30;

const TEMPERATURES = [
  ["batteryTemperature", "The battery"],
  ["motorTemperature", "The motor"],
  ["inverterTemperature", "The inverter"],
] as const;

/** Flags by uid for the runs of one group (one label), in order of time. Runs without flags are absent. */
export function flagGroup(runs: readonly GroupedRun[]): Map<string, Flag[]> {
  const flags = new Map<string, Flag[]>();
  const add = (run: GroupedRun, flag: Flag) => flags.set(run.uid, [...(flags.get(run.uid) ?? []), flag]);
  const known = (role: string) => runs.map((run) => run.measured[role] ?? Number.NaN);
  const charge = medianOf(known("stateOfCharge"));
  for (const run of runs) {
    const own = run.measured.stateOfCharge ?? Number.NaN;
    if (Math.abs(own - charge) > MOST_CHARGE_POINTS) {
      add(run, { flag: "charge", why: `Charge was ${own.toFixed(0)} %, the group's middle is ${charge.toFixed(0)} %.` });
    }
    for (const [role, words] of TEMPERATURES) {
      const middle = medianOf(known(role));
      const value = run.measured[role] ?? Number.NaN;
      if (Math.abs(value - middle) > MOST_KELVIN) {
        add(run, { flag: "temperature", why: `${words} was at ${value.toFixed(0)} °C, the group's middle is ${middle.toFixed(0)} °C.` });
      }
    }
  }
  for (const run of unpaired(runs)) {
    add(run, {
      flag: "unpaired",
      why: `Driven towards ${(run.courseDeg ?? 0).toFixed(0)}°, with no run the other way to set against slope and wind.`,
    });
  }
  return flags;
}

/** Pairs each run with the earliest free one the other way; what is left over has no partner. Unknown courses are not judged. */
function unpaired(runs: readonly GroupedRun[]): GroupedRun[] {
  const free: GroupedRun[] = [];
  for (const run of runs) {
    if (run.courseDeg === null) continue;
    const partner = free.findIndex((other) => Math.abs(Math.abs(turn(run.courseDeg, other.courseDeg)) - 180) < OPPOSITE_WITHIN_DEG);
    if (partner >= 0) free.splice(partner, 1);
    else free.push(run);
  }
  return free;
}

const turn = (a: number | null, b: number | null) => (((a ?? 0) - (b ?? 0) + 540) % 360) - 180;
