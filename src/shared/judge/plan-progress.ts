/**
 * The state of a plan: which run is in which slot, what comes next, and what must be waited for. An unknown value is said to be unknown.
 */
import { ofWord } from "../kernel/by-word.ts";
import type { DrivenPlan } from "./judged-run.ts";
import type { HoldWindow, Plan, PlanSlot } from "./plan.ts";

/** What was driven under the plan, in order: a run, or a request to drive its slot again. */
export interface DrivenSlot {
  readonly slot: number;
  readonly run: number;
  /** A spoiled run leaves its slot open; the run is kept. */
  readonly spoiled: boolean;
}

interface HoldState {
  readonly key: string;
  readonly state: "inside" | "outside" | "unknown";
  readonly words: string;
}

export interface PlanProgress {
  /** The run in each slot; null: open. */
  readonly filled: readonly (number | null)[];
  readonly next: PlanSlot | null;
  /** "next: traction control on, eastbound". */
  readonly words: string;
  readonly waitS: number;
  readonly hold: readonly HoldState[];
  /** True once nothing must be waited for; unknown values hold nobody up. */
  readonly ready: boolean;
}

export interface ProgressNow {
  /** As in a run's measured conditions; null or absent: unknown. */
  readonly measured: Readonly<Record<string, number | null>>;
  /** Null before the first run. */
  readonly secondsSinceLastRun: number | null;
}

function minutes(seconds: number): string {
  const whole = Math.ceil(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** The words that the passenger reads for a role; other roles keep their names. */
const NAMES: Readonly<Record<string, readonly [name: string, unit: string]>> = {
  stateOfCharge: ["charge", " %"],
  batteryTemperature: ["battery", " °C"],
  motorTemperature: ["motor", " °C"],
  inverterTemperature: ["inverter", " °C"],
};

function holdState(key: string, window: HoldWindow, value: number | null | undefined): HoldState {
  const [name, unit] = ofWord(NAMES, key) ?? [key, ""];
  if (value === null || value === undefined) return { key, state: "unknown", words: `${name} unknown` };
  const said = `${name} is ${Number(value.toFixed(1))}${unit}`;
  if (window.low !== undefined && value < window.low) return { key, state: "outside", words: `${said}, under ${window.low}` };
  if (window.high !== undefined && value > window.high) return { key, state: "outside", words: `${said}, over ${window.high}` };
  return { key, state: "inside", words: said };
}

/** The last run that was not spoiled fills a slot; an earlier one is replaced but stays in the book. */
export function fillSlots(slots: number, driven: readonly DrivenSlot[]): (number | null)[] {
  const filled = new Array<number | null>(slots).fill(null);
  for (const { slot, run, spoiled } of driven) {
    if (slot < 0 || slot >= slots) throw new RangeError(`Expected a slot from 0 to ${slots - 1}, got ${slot}`);
    filled[slot] = spoiled ? null : run;
  }
  return filled;
}

/** The next slot is the first open one, so a spoiled run is driven again at once, in its own direction. */
export function planProgress(plan: Plan, driven: readonly DrivenSlot[], now: ProgressNow): PlanProgress {
  const filled = fillSlots(plan.slots.length, driven);
  const next = plan.slots[filled.indexOf(null)] ?? null;
  const hold = Object.entries(plan.request.hold).map(([key, window]) => holdState(key, window, ofWord(now.measured, key)));
  const waitS = now.secondsSinceLastRun === null ? 0 : Math.max(0, plan.request.leastWaitS - now.secondsSinceLastRun);
  const outside = hold.filter((state) => state.state === "outside").map((state) => state.words);
  const waiting = [...(waitS > 0 ? [`wait ${minutes(waitS)}`] : []), ...outside.map((words) => `wait: ${words}`)];
  if (!next) return { filled, next, words: "all planned runs are in", waitS: 0, hold, ready: true };
  const tail = waiting.length > 0 ? `; ${waiting.join("; ")}` : "";
  return { filled, next, words: `next: ${next.group}, ${next.direction}${tail}`, waitS, hold, ready: waiting.length === 0 };
}

/** The plan in the form that the comparison needs. */
export function asDrivenPlan(plan: Plan, driven: readonly DrivenSlot[]): DrivenPlan {
  return { design: plan.request, order: plan.order, slots: fillSlots(plan.slots.length, driven), seed: plan.request.seed };
}
