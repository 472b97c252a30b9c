/**
 * What Plan's buttons and keys do: draw an order, use it, leave the plan, drive a slot again, own gates. Each reads the plan again; edits
 * can be undone.
 */
import type { Frame } from "../../screen/page.ts";
import type { DrawnPlan } from "./drawn-plan.ts";
import { askOwnGates } from "./own-gates.ts";
import type { PlanForm } from "./plan-form.ts";
import type { PlanRefusal } from "./plan-refusal.ts";
import type { PlanWays } from "./plan-ways.ts";

export interface PlanActs {
  drawOrder(): Promise<void>;
  usePlan(): Promise<void>;
  driveAgain(): Promise<void>;
  /** First removes the drawn order, then the present plan. */
  leavePlan(): Promise<void>;
  ownGates(): void;
}

export interface PlanActsOptions {
  readonly frame: Frame;
  readonly plan: DrawnPlan;
  readonly form: PlanForm;
  readonly ways: PlanWays;
  load(): Promise<void>;
  render(): void;
  refuse(refusal: PlanRefusal): void;
}

export function createPlanActs({ frame, plan, form, ways, load, render, refuse }: PlanActsOptions): PlanActs {
  return {
    async drawOrder() {
      const refusal = form.wrong() ?? (await plan.draw({ ...form.request(), ...ways.chosen() }));
      if (refusal !== null) return refuse(refusal);
      form.refuse(null);
      frame.announce("Random order drawn");
      render();
    },
    async usePlan() {
      if (await plan.use()) await load();
    },
    async driveAgain() {
      if (await plan.again()) await load();
    },
    async leavePlan() {
      if (plan.drawn() !== null) {
        plan.drop();
        return render();
      }
      await plan.leave();
      await load();
    },
    ownGates() {
      const view = plan.view();
      if (view === null) return;
      askOwnGates(frame, view, async (name) => {
        await load();
        if (name !== null) form.setGate(name);
      });
    },
  };
}
