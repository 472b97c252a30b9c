/**
 * The ways of drawing the order: which one is chosen, what each can achieve, and how many runs the scatter needs. Fields that make no plan
 * give none; drawing says why.
 */
import type { PlanChoicesView } from "../../../shared/contract/judge-views.ts";
import { overNetwork } from "../../bridge/over-network.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import type { Frame } from "../../screen/page.ts";
import { choicesChart } from "./plan-charts.ts";
import { choiceList, type Chosen } from "./plan-choice-list.ts";
import type { PlanForm } from "./plan-form.ts";
import { MOST_IN_PAIRS, neededWords } from "./plan-words.ts";

export interface PlanWays {
  readonly element: HTMLElement;
  chosen(): Chosen;
  /** Selects the present plan's way, until the person chooses another. */
  follow(way: Chosen): void;
  /** Asks again where the fields, the runs or the way changed. */
  load(): Promise<void>;
}

const ANY_ORDER: Chosen = { orders: "any", directions: 2 };
const TOGETHER =
  "So many settings are not compared pair by pair: all their runs together tell what each is worth, on Compare. The order is drawn from all orders, there and back.";

/** `onPick`: another way was chosen. */
export function createPlanWays(frame: Frame, form: PlanForm, onPick: () => void): PlanWays {
  let chosen: Chosen = { orders: "balanced", directions: 2 };
  let asked = "";
  let told: PlanChoicesView | null = null;
  const list = el("div");
  const body = el("section", { hidden: true });
  const needed = el("p", { class: "small" });
  const tools = createChartTools(
    frame,
    "the ways of drawing",
    choicesChart(() => told?.choices ?? null),
  );

  function show(answer: PlanChoicesView, runsPerGroup: number): void {
    told = answer;
    body.hidden = false;
    const focused = list.contains(document.activeElement);
    list.replaceChildren(
      choiceList(answer.choices, chosen, (picked) => {
        chosen = picked;
        onPick();
      }),
    );
    if (focused) list.querySelector<HTMLInputElement>("input:checked")?.focus();
    setText(needed, neededWords(answer, runsPerGroup));
  }

  body.append(list, el("div", { class: "figure-head" }, needed, tools.element));
  const areTogether = () => form.groups().length > MOST_IN_PAIRS;
  return {
    element: body,
    chosen: () => (areTogether() ? ANY_ORDER : chosen),
    follow({ orders, directions }) {
      // A whole request may be given here, but only its way of drawing is used; the rest would replace the fields.
      if (asked === "") chosen = { orders, directions };
    },
    async load() {
      // Who only looks plans nothing, and these are long calculations.
      if (overNetwork()) return;
      const [groups, runsPerGroup, differenceS] = [form.groups(), form.runsPerGroup(), form.differenceS()];
      if (areTogether()) {
        asked = TOGETHER;
        body.hidden = false;
        list.replaceChildren();
        tools.element.hidden = true;
        setText(needed, TOGETHER);
        return;
      }
      tools.element.hidden = false;
      if (groups.length < 2 || new Set(groups).size < groups.length || runsPerGroup === null) return;
      const argument = { groups, runsPerGroup, gate: form.gate(), ...(differenceS === null ? {} : { differenceS }) };
      const wanted = JSON.stringify([argument, frame.runs().length, chosen]);
      if (wanted === asked) return;
      asked = wanted;
      const answer = await frame.bridge.request("plan.choices", argument);
      if (wanted === asked) show(answer, runsPerGroup);
    },
  };
}
