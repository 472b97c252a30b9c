/** Plan: a string of slots, what each way of drawing can reach, and the fields of the next plan. Nothing is kept before "Use this plan"; what is unsafe is refused with the sum. */
import type { PlanChoicesView, PlanView } from "../../../shared/contract/judge-views.ts";
import type { Plan } from "../../../shared/judge/plan.ts";
import { el, setText } from "../../app/dom.ts";
import { number, quantity } from "../../app/format.ts";
import { keyButton } from "../../app/key-hints.ts";
import type { Frame, Page } from "../../app/page.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { choiceList, type Chosen } from "./plan-choice-list.ts";
import { createPlanForm } from "./plan-form.ts";
import { paintPlanString } from "./plan-string.ts";

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
  const outside = el("ul", { class: "notes small" });
  const choices = el("div");
  const needed = el("p", { class: "small" });
  const form = createPlanForm(frame.keys, () => void changed());
  const element = el(
    "div",
    { class: "page plan" },
    el("div", { class: "sentence" }, el("div", {}, title, second), el("div", { class: "beside two" }, draw, use, again, without)),
    box,
    key,
    outside,
    el("div", { class: "plan-body" }, el("section", {}, choices, needed), form.element),
  );

  const shownPlan = () => drawn ?? view?.plan ?? null;

  async function load(): Promise<void> {
    view = await frame.bridge.request("plan.read", {});
    if (view.plan !== null && drawn === null && choicesAsked === "")
      chosen = { orders: view.plan.request.orders, directions: view.plan.request.directions };
    form.fill(view);
    render();
    await loadChoices();
  }

  async function loadChoices(): Promise<void> {
    const [groups, runsPerGroup, differenceS] = [form.groups(), form.runsPerGroup(), form.differenceS()];
    if (groups.length < 2 || runsPerGroup === null) return;
    const argument = { groups, runsPerGroup, gate: form.gate(), ...(differenceS === null ? {} : { differenceS }) };
    const asked = JSON.stringify([argument, frame.runs().length, chosen]);
    if (asked === choicesAsked) return;
    choicesAsked = asked;
    const told = await frame.bridge.request("plan.choices", argument);
    if (asked !== choicesAsked) return;
    const focused = choices.contains(document.activeElement);
    choices.replaceChildren(
      choiceList(told.choices, chosen, (picked) => {
        chosen = picked;
        void changed();
      }),
    );
    if (focused) choices.querySelector<HTMLInputElement>("input:checked")?.focus();
    setText(needed, neededWords(told, runsPerGroup));
  }

  function paint(): void {
    const plan = shownPlan();
    const drawnOn = visible && plan !== null ? surface(canvas) : null;
    if (plan === null || drawnOn === null) return;
    const none = plan.slots.map(() => null);
    const progress = drawn === null ? view?.progress : null;
    const filled = progress?.filled ?? none;
    const show = {
      plan,
      filled,
      seconds: drawn === null ? (view?.seconds ?? none) : none,
      next: progress == null ? null : (progress.next?.slot ?? null),
    };
    paintPlanString(drawnOn, show, readPalette(), fontPx(box));
  }

  function render(): void {
    if (view === null || !visible) return;
    const plan = shownPlan();
    box.hidden = plan === null;
    key.hidden = plan === null;
    outside.hidden = drawn !== null || view.outside.length === 0;
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
    if (plan === null) setText(second, "An order drawn by lot is what lets chance be counted. Fill in the usable length, then draw.");
    else {
      const { arrangements } = plan.choice;
      const orders = arrangements === null ? "" : `, one of ${arrangements.toLocaleString("en-GB")} orders`;
      setText(second, `${plan.request.runsPerGroup} runs a group${orders}, seed ${plan.request.seed}. ${plan.length.words}.`);
      const names = [...new Set(plan.slots.map((slot) => slot.direction))];
      const marks = plan.request.groups.map((group, i) => `${["ring", "disc", "half disc", "ring with a dot"][i] ?? "square"}: ${group}`);
      setText(key, [...marks, ...(names.length > 1 ? [`${names[0]} above the line, ${names[1]} below`] : [])].join("; "));
      canvas.setAttribute(
        "aria-label",
        `Slots in order: ${plan.slots.map((slot) => `${slot.slot + 1} ${slot.group}, ${slot.direction}`).join("; ")}`,
      );
    }
    outside.replaceChildren(...view.outside.map(({ run, why }) => el("li", {}, `Run ${run} fills no slot: ${why}.`)));
    paint();
  }

  /** A field changed: what was drawn no longer answers it. */
  async function changed(): Promise<void> {
    drawn = null;
    form.refuse(null);
    render();
    await loadChoices().catch(frame.fail);
  }

  async function drawOrder(): Promise<void> {
    try {
      drawn = await frame.bridge.request("plan.draw", { request: { ...form.request(), ...chosen } });
      form.refuse(null);
      frame.announce("Drawn by lot");
      render();
    } catch (error) {
      drawn = null;
      render();
      const words = error instanceof Error ? error.message : String(error);
      form.refuse(words);
      setText(title, "This plan is refused.");
      setText(second, words);
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
      "plan.again": () => void driveAgain(),
      "plan.use": () => void usePlan(),
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
