/**
 * Plan: a string of slots, what each way of drawing can achieve, and the fields of the next plan. Nothing is stored before "Use this plan";
 * an unsafe plan is refused with the calculation.
 */
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createDrawnPlan } from "./drawn-plan.ts";
import { createPlanActs } from "./plan-acts.ts";
import { createPlanButtons } from "./plan-buttons.ts";
import { createPlanFigure } from "./plan-figure.ts";
import { createPlanForm } from "./plan-form.ts";
import type { PlanRefusal } from "./plan-refusal.ts";
import { createPlanWays } from "./plan-ways.ts";
import { planLead, planTitle } from "./plan-words.ts";

export function createPlanPage(frame: Frame): Page {
  let visible = false;
  const plan = createDrawnPlan(frame);
  const title = el("h1");
  const second = el("p", { class: "lead" });
  const form = createPlanForm(frame.keys, changed, () => acts.ownGates());
  const ways = createPlanWays(frame, form, changed);
  const figure = createPlanFigure(frame, plan.string);
  const outside = createFold(frame.keys, "plan.outside", "note");
  const load = () => read().catch(frame.fail);
  const acts = createPlanActs({ frame, plan, form, ways, load, render, refuse });
  const buttons = createPlanButtons(frame.keys, acts);

  function render(): void {
    const view = plan.view();
    if (view === null || !visible) return;
    const drawn = plan.drawn() !== null;
    buttons.show(drawn, view.plan !== null);
    setText(title, planTitle(view, drawn));
    setText(second, planLead(plan.string()?.plan ?? null));
    figure.render();
    outside.show(drawn ? [] : view.outside.map(({ run, why }) => `Run ${run} fills no slot: ${why}.`));
  }

  async function read(): Promise<void> {
    const view = await plan.read();
    const present = plan.drawn() ?? view.plan;
    if (present !== null) ways.follow(present.request);
    form.fill({ ...view, plan: present });
    render();
    await takeUp();
    await ways.load();
  }

  /** A test that advice proposes: its order is drawn at once, but used only when a person says so. */
  async function takeUp(): Promise<void> {
    const { test } = frame.proposed;
    if (test === null) return;
    frame.proposed.test = null;
    form.propose(test);
    await acts.drawOrder();
  }

  /** A field changed: the drawn order no longer matches. */
  function changed(): void {
    plan.drop();
    form.refuse(form.wrong());
    render();
    ways.load().catch(frame.fail);
  }

  function refuse(refusal: PlanRefusal): void {
    plan.drop();
    render();
    form.refuse(refusal);
    setText(title, refusal.missing === true ? "Not drawn yet." : "This plan is refused.");
    setText(second, refusal.words);
  }

  return {
    name: "plan",
    title: "Plan",
    element: el(
      "div",
      { class: "page plan" },
      el("div", { class: "sentence" }, el("div", {}, title, second), buttons.element),
      figure.string,
      figure.key,
      outside.element,
      el("div", { class: "plan-body" }, ways.element, form.element),
    ),
    acts: {
      "plan.draw": acts.drawOrder,
      "plan.gate": () => frame.announce(form.nextGate()),
      "plan.own": acts.ownGates,
      "plan.again": acts.driveAgain,
      "plan.use": acts.usePlan,
      "plan.outside": () => outside.turn(),
      "plan.report": () => frame.go("report"),
    },
    shown() {
      visible = true;
      if (plan.view() === null) setText(title, "Reading the plan.");
      void load();
    },
    hidden() {
      visible = false;
    },
    onEvent: () => undefined,
    changed() {
      if (visible) void load();
    },
  };
}
