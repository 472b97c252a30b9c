/**
 * The book's test plan: drawn, stored, and filled by the runs in driving order. A run fills the first open slot if it has the slot's label
 * and direction; otherwise it lies outside of the plan, and the reason is given. A run without a time at the plan's gate leaves its slot
 * open. An unsafe plan throws PlanError.
 */
import { byWord } from "../../../shared/kernel/by-word.ts";
import { startOfGate } from "../../../shared/launch/gate.ts";
import { checkPlanRequest } from "../../../shared/judge/check-plan-request.ts";
import type { DrivenPlan } from "../../../shared/judge/judged-run.ts";
import { slotDirection } from "../../../shared/judge/order-set.ts";
import { createPlan, type Plan, type PlanRequest, type PlanSlot } from "../../../shared/judge/plan.ts";
import { asDrivenPlan, type DrivenSlot, fillSlots } from "../../../shared/judge/plan-progress.ts";
import type { SeenGate } from "../../../shared/judge/usable-length.ts";
import { MPS_PER_KMH } from "../../../shared/kernel/units.ts";
import type { Book, StoredPlan, StoredRun } from "../../ports/book.ts";
import { orNotReadable } from "../basics/or-not-readable.ts";
import { resultOf, startFor } from "./judged-runs.ts";
import { gatesOf, ownGates } from "./own-gates.ts";

const KEY = "plan";
/** Length and exit speed are taken from this many of the newest runs that reached the gate, since reading samples takes time. */
const MOST_SEEN_RUNS = 12;

export interface FilledPlan {
  readonly stored: StoredPlan;
  readonly driven: readonly DrivenSlot[];
  readonly outside: readonly { readonly run: number; readonly why: string }[];
}

export function currentPlan(book: Book): StoredPlan | null {
  const id = book.setting(KEY);
  return typeof id === "number" ? book.plan(id) : null;
}

/** Makes a stored plan, or none, the present one; returns the one before. */
export function setCurrentPlan(book: Book, id: number | null, utcUs: number): number | null {
  const before = currentPlan(book)?.id ?? null;
  if (id !== null) book.plan(id);
  book.setSetting(KEY, id, utcUs);
  return before;
}

/** The longest way and the highest exit speed that stored runs have shown at each gate: a plan must have room for these. */
function seenGates(book: Book, names: readonly string[]): Record<string, SeenGate> {
  const seen = byWord<SeenGate>();
  const gates = gatesOf(book);
  for (const name of names) {
    // A rolling gate is timed from its entry speed, but needs the way from the start like any other.
    const gate = gates.find((each) => each.name === name);
    if (gate === undefined) continue;
    const start = startOfGate(gate);
    const reached = book.runs().flatMap((run) => {
      const result = resultOf(run, name, start);
      if (result?.seconds == null || result.atS === null) return [];
      return [{ run, atS: result.atS, exitSpeedKmh: result.exitSpeedKmh, brakingM: result.distanceM ?? 0 }];
    });
    let [distanceM, exitSpeedMps] = [0, 0];
    for (const { run, atS, exitSpeedKmh, brakingM } of reached.slice(-MOST_SEEN_RUNS)) {
      const samples = orNotReadable(() => book.sampleColumns(run.id, ["tS", "distanceM"]));
      const row = samples?.tS?.findIndex((t) => t >= atS) ?? -1;
      // The way to a stop is the way to where braking began: the length check adds the braking.
      distanceM = Math.max(distanceM, (samples?.distanceM?.[row] ?? Number.NaN) - brakingM || 0);
      exitSpeedMps = Math.max(exitSpeedMps, (exitSpeedKmh ?? 0) * MPS_PER_KMH);
    }
    seen[name] = { ...(distanceM > 0 ? { distanceM } : {}), ...(exitSpeedMps > 0 ? { exitSpeedMps } : {}) };
  }
  return seen;
}

/** A plan from its file's JSON, drawn but not stored. */
export function drawPlan(book: Book, raw: unknown): Plan {
  const request: PlanRequest = checkPlanRequest(raw);
  const [freshSeed] = crypto.getRandomValues(new Uint32Array(1));
  return createPlan(request, { freshSeed: freshSeed as number, ownGates: ownGates(book), seen: seenGates(book, request.gates) });
}

/** Draws and stores a plan and makes it the present one; returns the plan before. */
export function usePlan(book: Book, raw: unknown, utcUs: number): { readonly stored: StoredPlan; readonly before: number | null } {
  const plan = drawPlan(book, raw);
  return book.transaction(() => {
    const stored = book.addPlan(plan, utcUs);
    return { stored, before: setCurrentPlan(book, stored.id, utcUs) };
  });
}

function misfit(run: StoredRun, next: PlanSlot | undefined, plan: Plan, first: { courseDeg: number; slot: number } | null): string | null {
  if (next === undefined) return "driven after the plan was done";
  if (run.label !== next.group) return `labelled ${JSON.stringify(run.label)} where the plan wanted ${JSON.stringify(next.group)}`;
  if (first === null || run.figures.courseDeg === null) return null;
  const same = Math.cos(((run.figures.courseDeg - first.courseDeg) * Math.PI) / 180) > 0;
  const wanted = slotDirection(plan.request, next.slot) === slotDirection(plan.request, first.slot);
  return same === wanted ? null : `driven the other way where the plan wanted ${next.direction}`;
}

/** The runs that fill the plan so far. New runs are assigned to their slots now and stay there, whatever their labels become. */
export function fillPlan(book: Book, stored: StoredPlan): FilledPlan {
  const { plan, id, afterRun } = stored;
  const gate = plan.request.gates[0] as string;
  const start = startFor(book, gate, undefined);
  const all = book.runs();
  const runs = all.filter((run) => run.id > afterRun);
  const byId = new Map(all.map((run) => [run.id, run]));
  const driven: DrivenSlot[] = [];
  let first: { courseDeg: number; slot: number } | null = null;
  const take = (run: StoredRun, slot: number, again: boolean) => {
    const courseDeg = run.figures.courseDeg;
    if (first === null && courseDeg !== null) first = { courseDeg, slot };
    driven.push({ slot, run: run.id, spoiled: again || (resultOf(run, gate, start)?.seconds ?? null) === null });
  };
  const bound = book.plannedRuns(id);
  for (const { run, slot, again } of bound) {
    const known = byId.get(run);
    if (known !== undefined) take(known, slot, again);
  }
  const lastBound = bound.at(-1)?.run ?? afterRun;
  const outside: { run: number; why: string }[] = [];
  for (const run of runs) {
    // A run that was set aside before it filled a slot (nobody had armed) fills none.
    if (!run.use || bound.some((known) => known.run === run.id)) continue;
    const next = plan.slots[fillSlots(plan.slots.length, driven).indexOf(null)];
    const why = run.id < lastBound ? "its label or direction was not the plan's when its turn came" : misfit(run, next, plan, first);
    if (why === null && next !== undefined) {
      book.addPlannedRun(id, run.id, next.slot);
      take(run, next.slot, false);
    } else if (plan.request.groups.includes(run.label) || why === null) outside.push({ run: run.id, why: why ?? "" });
  }
  return { stored, driven, outside };
}

/**
 * After `from`'s runs were merged: they fill no slot of this book's plan, since they were not driven under it. A book without a plan takes
 * over `from`'s plan with the runs that filled it.
 */
export function mergePlan(from: Book, to: Book, utcUs: number): void {
  const own = currentPlan(to);
  if (own !== null) {
    to.passOver(own.id);
    return;
  }
  const theirs = currentPlan(from);
  // A plan for a gate that this book does not time could not be evaluated here.
  const known = gatesOf(to).map((gate) => gate.name);
  if (theirs === null || !theirs.plan.request.gates.every((name) => known.includes(name))) return;
  const ids = new Map(to.runs().map((run) => [run.uid, run.id]));
  const { id } = to.addPlan(theirs.plan, utcUs);
  for (const { run, slot, again } of from.plannedRuns(theirs.id)) {
    const here = ids.get(from.run(run).uid);
    if (here === undefined) continue;
    to.addPlannedRun(id, here, slot);
    if (again) to.setAgain(id, here, true, utcUs);
  }
  setCurrentPlan(to, id, utcUs);
}

/** The present plan as the comparison needs it; null without one. */
export function drivenPlan(book: Book): DrivenPlan | null {
  const stored = currentPlan(book);
  if (stored === null) return null;
  const { driven } = fillPlan(book, stored);
  return asDrivenPlan(stored.plan, driven);
}
