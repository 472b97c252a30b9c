/** Plan: a string of slots, what each way of drawing can reach, and the fields of the next plan. Nothing is kept before "Use this plan"; what is unsafe is refused with the sum. */
import type { PlanChoicesView, PlanView } from "../../../shared/contract/judge-views.ts";
import type { Plan } from "../../../shared/judge/plan.ts";
import { grouped } from "../../../shared/judge/wording.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import { number, quantity } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { choiceList, type Chosen } from "./plan-choice-list.ts";
import { askOwnGates } from "./own-gates.ts";
import { type PlanRefusal, planRefusal } from "./plan-refusal.ts";
import { createPlanForm } from "./plan-form.ts";
import { paintPlanString, type StringShow } from "./plan-string.ts";
import { choicesChart, stringChart } from "./plan-charts.ts";

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
const runsWord = (runs: number | null) => (runs === null ? "more than 40" : String(runs));

function neededWords({ scatter, needed, findableS }: PlanChoicesView, runs: number): string {
  if (scatter === null) return "Scatter is unknown until a group has two runs: how many are needed cannot be told yet.";
  const found =
    findableS === null ? "" : ` ${runs} and ${runs} there and back find a difference of ${quantity(findableS, "s", 2)} four times in five.`;
  const wanted =
    needed === null
      ? ""
      : ` The difference hoped for needs ${runsWord(needed.runsPerGroup)} runs a group (${runsWord(needed.from)} to ${runsWord(needed.to)}).`;
  return `Scatter of single runs so far ${quantity(scatter.seconds, "s", 3)} (${number(scatter.low, 3)} to ${number(scatter.high, 3)}).${found}${wanted}`;
}

export function createPlanPage(frame: Frame): Page {
  let view: PlanView | null = null;
  /** Drawn but not in force yet. */
  let drawn: Plan | null = null;
  let chosen: Chosen = { orders: "balanced", directions: 2 };
  let visible = false;
  let choicesAsked = "";

  const title = el("h1");
  const second = el("p", { class: "lead" });
  const draw = keyButton(frame.keys, "Draw the order", "plan.draw", () => void drawOrder());
  const use = keyButton(frame.keys, "Use this plan", "plan.use", () => void usePlan());
  const again = keyButton(frame.keys, "Drive again", "plan.again", () => void driveAgain());
  const without = el("button", { type: "button" }, "Without a plan");
  without.addEventListener("click", () => void leavePlan());
  const canvas = el("canvas", { role: "img" });
  const box = el("div", { class: "plan-string" }, canvas);
  const key = el("p", { class: "small quiet" });
  let told: PlanChoicesView | null = null;
  const planName = () => `${frame.car()}: ${shownPlan()?.request.groups.join(", ") ?? ""}. ${key.textContent}`;
  const stringTools = createChartTools(frame, "the plan", stringChart(stringNow, planName));
  const choiceTools = createChartTools(
    frame,
    "the ways of drawing",
    choicesChart(() => told?.choices ?? null),
  );
  const keyRow = el("div", { class: "figure-head" }, key, stringTools.element);
  const outside = createFold(frame.keys, "plan.outside", "note");
  const choices = el("div");
  const needed = el("p", { class: "small" });
  const form = createPlanForm(
    frame.keys,
    () => void changed(),
    () => ownGates(),
  );
  const element = el(
    "div",
    { class: "page plan" },
    el("div", { class: "sentence" }, el("div", {}, title, second), el("div", { class: "beside two" }, draw, use, again, without)),
    box,
    keyRow,
    outside.element,
    el(
      "div",
      { class: "plan-body" },
      el("section", {}, choices, el("div", { class: "figure-head" }, needed, choiceTools.element)),
      form.element,
    ),
  );

  const shownPlan = () => drawn ?? view?.plan ?? null;

  /** The string as it is drawn; null without a plan. */
  function stringNow(): StringShow | null {
    const plan = shownPlan();
    if (plan === null) return null;
    const none = plan.slots.map(() => null);
    const progress = drawn === null ? view?.progress : null;
    return {
      plan,
      filled: progress?.filled ?? none,
      seconds: drawn === null ? (view?.seconds ?? none) : none,
      next: progress == null ? null : (progress.next?.slot ?? null),
    };
  }

  async function load(): Promise<void> {
    view = await frame.bridge.request("plan.read", {});
    if (view.plan !== null && drawn === null && choicesAsked === "")
      chosen = { orders: view.plan.request.orders, directions: view.plan.request.directions };
    form.fill(view);
    render();
    await takeUp();
    await loadChoices();
  }

  /** A test that an advice wants: its order is drawn at once, and used only when a person says so. */
  async function takeUp(): Promise<void> {
    const { test } = frame.proposed;
    if (test === null) return;
    frame.proposed.test = null;
    form.propose(test);
    await drawOrder();
  }

  async function loadChoices(): Promise<void> {
    const [groups, runsPerGroup, differenceS] = [form.groups(), form.runsPerGroup(), form.differenceS()];
    // What makes no plan has no ways of drawing; drawing says why.
    if (groups.length < 2 || new Set(groups).size < groups.length || runsPerGroup === null) return;
    const argument = { groups, runsPerGroup, gate: form.gate(), ...(differenceS === null ? {} : { differenceS }) };
    const asked = JSON.stringify([argument, frame.runs().length, chosen]);
    if (asked === choicesAsked) return;
    choicesAsked = asked;
    const answer = await frame.bridge.request("plan.choices", argument);
    if (asked !== choicesAsked) return;
    told = answer;
    const focused = choices.contains(document.activeElement);
    choices.replaceChildren(
      choiceList(answer.choices, chosen, (picked) => {
        chosen = picked;
        void changed();
      }),
    );
    if (focused) choices.querySelector<HTMLInputElement>("input:checked")?.focus();
    setText(needed, neededWords(answer, runsPerGroup));
  }

  function paint(): void {
    const show = stringNow();
    const drawnOn = visible && show !== null ? surface(canvas) : null;
    if (show !== null && drawnOn !== null) paintPlanString(drawnOn, show, readPalette(), fontPx(box));
  }

  function render(): void {
    if (view === null || !visible) return;
    const plan = shownPlan();
    box.hidden = plan === null;
    keyRow.hidden = plan === null;
    use.setAttribute("aria-disabled", String(drawn === null));
    // One solid button a screen: what is to be done next.
    use.classList.toggle("solid", drawn !== null);
    draw.classList.toggle("solid", drawn === null && view.plan === null);
    setText(draw.firstElementChild as Element, drawn === null ? "Draw the order" : "Draw again");
    again.hidden = view.plan === null || drawn !== null;
    without.hidden = view.plan === null && drawn === null;
    if (drawn !== null) setText(title, "Drawn by lot, not in use yet.");
    else if (view.progress !== null) setText(title, `${capital(view.progress.words)}.`);
    else setText(title, "No plan yet: six and six, there and back, is suggested.");
    if (plan === null)
      setText(second, "An order drawn by lot is what lets chance be counted. Fill in the usable length and the run-off, then draw.");
    else {
      const { arrangements } = plan.choice;
      const orders = arrangements === null ? "" : `, one of ${grouped(arrangements)} orders`;
      setText(second, `${plan.request.runsPerGroup} runs a group${orders}, seed ${plan.request.seed}. ${plan.length.words}.`);
      const names = [...new Set(plan.slots.map((slot) => slot.direction))];
      const marks = plan.request.groups.map((group, i) => `${["ring", "disc", "half disc", "ring with a dot"][i] ?? "square"}: ${group}`);
      setText(key, [...marks, ...(names.length > 1 ? [`${names[0]} above the line, ${names[1]} below`] : [])].join("; "));
      canvas.setAttribute(
        "aria-label",
        `Slots in order: ${plan.slots.map((slot) => `${slot.slot + 1} ${slot.group}, ${slot.direction}`).join("; ")}`,
      );
    }
    outside.show(drawn !== null ? [] : view.outside.map(({ run, why }) => `Run ${run} fills no slot: ${why}.`));
    paint();
  }

  /** A field changed: what was drawn no longer answers it. */
  async function changed(): Promise<void> {
    drawn = null;
    form.refuse(form.wrong());
    render();
    await loadChoices().catch(frame.fail);
  }

  function refuse(refusal: PlanRefusal): void {
    drawn = null;
    render();
    form.refuse(refusal);
    setText(title, "This plan is refused.");
    setText(second, refusal.words);
  }

  async function drawOrder(): Promise<void> {
    const wrong = form.wrong();
    if (wrong !== null) return refuse(wrong);
    try {
      drawn = await frame.bridge.request("plan.draw", { request: { ...form.request(), ...chosen } });
      form.refuse(null);
      frame.announce("Drawn by lot");
      render();
    } catch (error) {
      refuse(planRefusal(error instanceof Error ? error.message : String(error)));
    }
  }

  async function usePlan(): Promise<void> {
    if (drawn === null) return;
    const { request } = drawn;
    drawn = null;
    await frame.edit("Plan in use", frame.bridge.request("plan.use", { request: { ...request } }));
    await load().catch(frame.fail);
  }

  async function leavePlan(): Promise<void> {
    if (drawn !== null) {
      drawn = null;
      return render();
    }
    await frame.edit("Driving without a plan", frame.bridge.request("plan.current", { plan: null }));
    await load().catch(frame.fail);
  }

  function ownGates(): void {
    if (view === null) return;
    askOwnGates(frame, view, async (name) => {
      await load().catch(frame.fail);
      if (name !== null) form.setGate(name);
    });
  }

  async function driveAgain(): Promise<void> {
    const run = view?.progress?.filled.findLast((id) => id !== null) ?? null;
    if (run === null) return frame.announce("No slot is driven yet");
    await frame.edit(`The slot of run ${run} is driven again`, frame.bridge.request("plan.again", { run, again: true }));
    await load().catch(frame.fail);
  }

  return {
    name: "plan",
    title: "Plan",
    element,
    acts: {
      "plan.draw": () => void drawOrder(),
      "plan.gate": () => frame.announce(form.nextGate()),
      "plan.own": () => ownGates(),
      "plan.again": () => void driveAgain(),
      "plan.use": () => void usePlan(),
      "plan.outside": () => outside.turn(),
      "plan.report": () => frame.go("report"),
    },
    shown() {
      visible = true;
      if (view === null) setText(title, "Reading the plan.");
      load().catch(frame.fail);
    },
    hidden() {
      visible = false;
    },
    onEvent: () => undefined,
    changed() {
      if (visible) load().catch(frame.fail);
    },
  };
}
