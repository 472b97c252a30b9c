/**
 * Guides through the present plan while driving: what is next, in which direction, and what to wait for. Without a plan it says nothing.
 */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { planProgress } from "../../../shared/judge/plan-progress.ts";
import type { Book } from "../../ports/book.ts";
import { endOfLast, secondsSince } from "./plan-view.ts";
import { currentPlan, type FilledPlan, fillPlan } from "./test-plan.ts";

export interface PlanGuide {
  /** Reads the book again, after a run or an edit; gives the label of the next run, null where no plan names one. */
  refresh(): string | null;
  /** The plan's line for the passenger; fast enough for every live event. */
  say(measured: Readonly<Record<string, number | null>>, utcUs: number): NonNullable<LiveEvent["plan"]> | null;
}

export function createPlanGuide(book: Book): PlanGuide {
  let filled: FilledPlan | null = null;
  /** Wall clock time at which the newest planned run ended, microseconds. */
  let endedUtcUs: number | null = null;

  function progress(measured: Readonly<Record<string, number | null>>, utcUs: number) {
    if (filled === null) return null;
    return planProgress(filled.stored.plan, filled.driven, { measured, secondsSinceLastRun: secondsSince(endedUtcUs, utcUs) });
  }

  return {
    refresh() {
      const stored = currentPlan(book);
      filled = stored === null ? null : fillPlan(book, stored);
      const runs = filled?.driven.map((slot) => slot.run) ?? [];
      endedUtcUs = endOfLast(book, runs);
      return progress({}, 0)?.next?.group ?? null;
    },
    say(measured, utcUs) {
      const now = progress(measured, utcUs);
      if (now === null || filled === null) return null;
      const total = now.filled.length;
      const done = now.filled.filter((run) => run !== null).length;
      const { groups } = filled.stored.plan.request;
      const [group, direction] = [now.next?.group ?? null, now.next?.direction ?? null];
      return { words: now.words, groups, group, direction, ready: now.ready, done, total };
    },
  };
}
