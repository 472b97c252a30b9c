/**
 * The present plan as last read, and an order drawn since then, which is stored only by "Use this plan". Edits can be undone; a refusal
 * removes the drawn order and says why.
 */
import type { PlanView } from "../../../shared/contract/judge-views.ts";
import type { Plan } from "../../../shared/judge/plan.ts";
import type { Frame } from "../../screen/page.ts";
import { type PlanRefusal, planRefusal } from "./plan-refusal.ts";
import type { StringShow } from "./plan-string.ts";
import { wordsOf } from "../../../shared/kernel/words-of.ts";

export interface DrawnPlan {
  /** null until it was read for the first time. */
  view(): PlanView | null;
  drawn(): Plan | null;
  /** The present string of slots; null without a plan. */
  string(): StringShow | null;
  read(): Promise<PlanView>;
  /** Removes the drawn order: it no longer matches the fields. */
  drop(): void;
  /** Draws an order at random; answers why that is refused, null where it is not. */
  draw(request: Record<string, unknown>): Promise<PlanRefusal | null>;
  /** Makes the drawn order the present plan; false where there is none. */
  use(): Promise<boolean>;
  /** Drives without a plan. */
  leave(): Promise<void>;
  /** The last driven slot will be driven again; false, with a message, where there is none. */
  again(): Promise<boolean>;
}

export function createDrawnPlan(frame: Frame): DrawnPlan {
  const { bridge } = frame;
  let view: PlanView | null = null;
  const { proposed } = frame;
  return {
    view: () => view,
    drawn: () => proposed.drawn,
    string() {
      const { drawn } = proposed;
      const plan = drawn ?? view?.plan ?? null;
      if (plan === null) return null;
      const none = plan.slots.map(() => null);
      const progress = drawn === null ? view?.progress : null;
      return {
        groups: frame.groups(),
        plan,
        filled: progress?.filled ?? none,
        seconds: drawn === null ? (view?.seconds ?? none) : none,
        next: progress == null ? null : (progress.next?.slot ?? null),
      };
    },
    async read() {
      view = await bridge.request("plan.read", {});
      return view;
    },
    drop() {
      proposed.drawn = null;
    },
    async draw(request) {
      try {
        proposed.drawn = await bridge.request("plan.draw", { request });
        return null;
      } catch (error) {
        return planRefusal(wordsOf(error));
      }
    },
    async use() {
      if (proposed.drawn === null) return false;
      const { request } = proposed.drawn;
      proposed.drawn = null;
      await frame.edit("Plan in use", bridge.request("plan.use", { request: { ...request } }));
      return true;
    },
    leave: () => frame.edit("Driving without a plan", bridge.request("plan.current", { plan: null })),
    async again() {
      const run = view?.progress?.filled.findLast((id) => id !== null) ?? null;
      if (run === null) frame.announce("No slot is driven yet");
      else await frame.edit(`The slot of run ${run} is driven again`, bridge.request("plan.again", { run, again: true }));
      return run !== null;
    },
  };
}
