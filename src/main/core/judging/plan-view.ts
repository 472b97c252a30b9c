/**
 * The plan as screens and the command line show it: slots, what is next, what each choice can achieve. Never fails on a book without runs.
 */
import type { PlanChoicesView, PlanView } from "../../../shared/contract/judge-views.ts";
import { choiceDesigns, describeChoice, type PlanChoice } from "../../../shared/judge/plan-choices.ts";
import { planProgress, type PlanProgress } from "../../../shared/judge/plan-progress.ts";
import { findableDifference, pooledScatter, runsNeeded, scatterInterval } from "../../../shared/judge/power.ts";
import type { JudgedRun } from "../../../shared/judge/judged-run.ts";
import { levelsOf } from "../../../shared/judge/strata.ts";
import type { Book } from "../../ports/book.ts";
import { breathe } from "../basics/breathe.ts";
import { judgedRuns, resultOf, startFor } from "./judged-runs.ts";
import { gatesOf, ownGates } from "./own-gates.ts";
import { currentPlan, fillPlan } from "./test-plan.ts";

/** The present bus values and time: a plan may wait for both. */
export interface PlanNow {
  readonly measured: Readonly<Record<string, number | null>>;
  readonly utcUs: number;
}

/** Wall clock time at which the newest planned run's window ended, microseconds; null without a run. */
export function endOfLast(book: Book, runs: readonly number[]): number | null {
  const last = runs.at(-1);
  if (last === undefined) return null;
  const { recording, figures } = book.run(last);
  return book.recording(recording).baseUtcUs + figures.windowToS * 1e6;
}

/** Null before the first run, and where the recording's clock was ahead of this one: an unknown wait holds nobody up. */
export const secondsSince = (endedUtcUs: number | null, utcUs: number) =>
  endedUtcUs === null || endedUtcUs > utcUs ? null : (utcUs - endedUtcUs) / 1e6;

/** The state of the present plan; null without one. */
function progressOf(book: Book, now: PlanNow): PlanProgress | null {
  const stored = currentPlan(book);
  if (stored === null) return null;
  const { driven } = fillPlan(book, stored);
  const ended = endOfLast(
    book,
    driven.map((slot) => slot.run),
  );
  return planProgress(stored.plan, driven, { measured: now.measured, secondsSinceLastRun: secondsSince(ended, now.utcUs) });
}

export function planView(book: Book, now: PlanNow): PlanView {
  const runs = book.runs();
  const stored = currentPlan(book);
  const labels = [...new Set(runs.map((run) => run.label).filter((label) => label !== ""))];
  const measured = [...new Set(runs.flatMap((run) => Object.keys(run.figures.measured)))].sort();
  const base = { labels, measured, gates: gatesOf(book).map((gate) => gate.name), ownGates: ownGates(book) };
  if (stored === null) return { ...base, id: null, plan: null, progress: null, seconds: [], outside: [] };
  const { outside } = fillPlan(book, stored);
  const progress = progressOf(book, now);
  const gate = stored.plan.request.gates[0] as string;
  const start = startFor(book, gate, undefined);
  const seconds = (progress?.filled ?? []).map((id) => {
    const run = runs.find((known) => known.id === id);
    return run === undefined ? null : (resultOf(run, gate, start)?.seconds ?? null);
  });
  return { ...base, id: stored.id, plan: stored.plan, progress, seconds, outside };
}

export interface ChoicesRequest {
  readonly groups: readonly string[];
  readonly runsPerGroup: number;
  readonly gate?: string | undefined;
  /** The expected difference, seconds. */
  readonly differenceS?: number | undefined;
}

/** Times of runs that differ in nothing but luck: of one label, on one day, surface, way and car. A season's wet days are no scatter. */
function alikeTimes(runs: readonly JudgedRun[]): number[][] {
  const says = levelsOf(runs);
  const parts = new Map<string, number[]>();
  for (const run of runs) {
    if (run.seconds === null) continue;
    const key = JSON.stringify([run.label, says.day(run), says.surface(run), says.direction(run), says.car(run)]);
    const part = parts.get(key) ?? [];
    part.push(run.seconds);
    parts.set(key, part);
  }
  return [...parts.values()];
}

export async function planChoicesView(book: Book, request: ChoicesRequest): Promise<PlanChoicesView> {
  const { groups, runsPerGroup, gate = "0-60 mph", differenceS } = request;
  const runs = judgedRuns(book, gate, startFor(book, gate, undefined)).filter((run) => run.use);
  const scatter = pooledScatter(alikeTimes(runs));
  const known = scatter !== null && scatter.seconds > 0;
  const findable = findableDifference(runsPerGroup, 2);
  const choices: PlanChoice[] = [];
  for (const design of choiceDesigns(groups, runsPerGroup)) {
    await breathe();
    choices.push(describeChoice(design));
  }
  return {
    choices,
    scatter: known ? { ...scatter, ...scatterInterval(scatter) } : null,
    needed: known && differenceS !== undefined ? runsNeeded(differenceS, scatter, 2) : null,
    findableS: known && findable !== null ? findable * scatter.seconds : null,
  };
}
