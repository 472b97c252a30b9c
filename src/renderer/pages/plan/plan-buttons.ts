/** Plan's buttons: the next action is solid; those without effect are hidden or marked. */
import { el, setText } from "../../screen/dom.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import type { PlanActs } from "./plan-acts.ts";

export interface PlanButtons {
  readonly element: HTMLElement;
  /** `drawn`: there is a drawn order that is not used yet. `inForce`: there is a present plan. */
  show(drawn: boolean, inForce: boolean): void;
}

export function createPlanButtons(keys: KeyMap, { drawOrder, usePlan, driveAgain, leavePlan }: PlanActs): PlanButtons {
  const draw = keyButton(keys, "Draw the order", "plan.draw", drawOrder);
  const use = keyButton(keys, "Use this plan", "plan.use", usePlan);
  const again = keyButton(keys, "Drive again", "plan.again", driveAgain);
  const without = el("button", { type: "button" }, "Without a plan");
  without.addEventListener("click", () => void leavePlan());
  return {
    element: el("div", { class: "beside two" }, draw, use, again, without),
    show(drawn, inForce) {
      use.setAttribute("aria-disabled", String(!drawn));
      use.classList.toggle("solid", drawn);
      draw.classList.toggle("solid", !drawn && !inForce);
      setText(draw.firstElementChild as Element, drawn ? "Draw again" : "Draw the order");
      again.hidden = !inForce || drawn;
      without.hidden = !inForce && !drawn;
    },
  };
}
