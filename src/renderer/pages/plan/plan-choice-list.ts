/** The ways of drawing the order: the smallest chance each can reach, and how much steady drift it cancels, as rods: solid at worst, hollow up to the usual. */
import type { PlanChoice } from "../../../shared/judge/plan-choices.ts";
import type { OrderSetName } from "../../../shared/judge/order-set.ts";
import { grouped, percent } from "../../../shared/judge/wording.ts";
import { el } from "../../screen/dom.ts";

export interface Chosen {
  readonly orders: OrderSetName;
  readonly directions: 1 | 2;
}

/** A way of drawing as the screens name it. */
export const choiceName = ({ orders, directions }: Chosen) => `${directions === 2 ? "There and back" : "One way"}, ${NAMES[orders]}`;

const NAMES: Readonly<Record<OrderSetName, string>> = { balanced: "nearly balanced", blocks: "blocks", any: "any order" };
/** A test at 1 in 20 needs orders enough. */
const REACHES = 0.05;

function rod(choice: PlanChoice): HTMLElement {
  const typical = el("span", { class: "typical-rod" });
  const worst = el("span", { class: "worst-rod" });
  typical.style.width = `${Math.max(0, choice.driftCancelledTypical) * 100}%`;
  worst.style.width = `${Math.max(0, choice.driftCancelledWorst) * 100}%`;
  return el("span", { class: "drift-rod", "aria-hidden": "true" }, typical, worst);
}

/** "2 in 380". */
export function reachWords({ arrangements, smallestPossibleP }: PlanChoice): string {
  if (arrangements === null || smallestPossibleP === null) return "over a million orders";
  return `2 in ${grouped(arrangements)}${smallestPossibleP > REACHES ? ": never 1 in 20" : ""}`;
}

/** One radio a choice. */
export function choiceList(choices: readonly PlanChoice[], chosen: Chosen, onPick: (chosen: Chosen) => void): HTMLElement {
  const rows = choices.map((choice) => {
    const { orders, directions } = choice;
    const input = el("input", { type: "radio", name: "order-set", checked: orders === chosen.orders && directions === chosen.directions });
    input.addEventListener("change", () => onPick({ orders, directions }));
    return el(
      "label",
      { class: "choice" },
      input,
      el("span", {}, choiceName(choice), ...(choice.suggested ? [el("b", {}, " suggested")] : [])),
      el("span", { class: "figure" }, reachWords(choice)),
      rod(choice),
      el(
        "span",
        { class: "figure" },
        `${percent(choice.driftCancelledTypical)}, at least ${percent(choice.driftCancelledWorst)}`.replaceAll(" %", "\u00a0%"),
      ),
    );
  });
  return el(
    "fieldset",
    { class: "choices" },
    el("legend", {}, "The order is drawn by lot from"),
    el(
      "div",
      { class: "choice choice-head quiet", "aria-hidden": "true" },
      el("span"),
      el("span"),
      el("span", {}, "least chance"),
      el("span", { class: "two" }, "steady drift cancelled"),
    ),
    ...rows,
  );
}
