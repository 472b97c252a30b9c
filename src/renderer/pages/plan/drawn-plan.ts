/**
 * The plan in force, as read last, and the order drawn since, which is kept only by "Use this plan". Edits can be undone; what is refused takes the
 * drawn order away and says why.
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
  /** The string as it stands; null without a plan. */
  string(): StringShow | null;
  read(): Promise<PlanView>;
  /** What was drawn answers the fields no longer. */
  drop(): void;
  /** Draws by lot; answers why that is refused, null where it is not. */
  draw(request: Record<string, unknown>): Promise<PlanRefusal | null>;
  /** Puts the drawn order in force; false where there is none. */
  use(): Promise<boolean>;
  /** Drives without a plan. */
  leave(): Promise<void>;
  /** The slot that was driven last is driven once more; false, and said, where none is. */
  again(): Promise<boolean>;
}

export function createDrawnPlan(frame: Frame): DrawnPlan {
  const { bridge } = frame;
  let view: PlanView | null = null;
  let drawn: Plan | null = null;
  return {
    view: () => view,
    drawn: () => drawn,
    string() {
      const plan = drawn ?? view?.plan ?? null;
      if (plan === null) return null;
      const none = plan.slots.map(() => null);
      const progress = drawn === null ? view?.progress : null;
      return {
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
      drawn = null;
    },
    async draw(request) {
      try {
        drawn = await bridge.request("plan.draw", { request });
        return null;
      } catch (error) {
        return planRefusal(wordsOf(error));
      }
    },
    async use() {
      if (drawn === null) return false;
      const { request } = drawn;
      drawn = null;
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
