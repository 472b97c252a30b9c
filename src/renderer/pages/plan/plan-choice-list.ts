/**
 * The ways of drawing the order: the smallest chance that each can reach, and how much of a steady drift it cancels. The drift is a rod:
 * solid at worst, hollow up to the typical value.
 */
import { LEVEL } from "../../../shared/judge/level.ts";
import type { PlanChoice } from "../../../shared/judge/plan-choices.ts";
import type { OrderSetName } from "../../../shared/judge/order-set.ts";
import { grouped, percent } from "../../../shared/judge/wording.ts";
import { el } from "../../screen/dom.ts";

export interface Chosen {
  readonly orders: OrderSetName;
  readonly directions: 1 | 2;
}

/** A way of drawing by its name on the screens. */
export const choiceName = ({ orders, directions }: Chosen) => `${directions === 2 ? "There and back" : "One way"}, ${NAMES[orders]}`;

const NAMES: Readonly<Record<OrderSetName, string>> = { balanced: "nearly drift-balanced", blocks: "blocks", any: "any order" };

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
  return `2 in ${grouped(arrangements)}${smallestPossibleP > LEVEL ? ": never 1 in 20" : ""}`;
}

/** One radio button for each choice. */
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
    { class: "order-sets" },
    el("legend", {}, "The order is drawn at random from"),
    el(
      "div",
      { class: "choice choice-head quiet", "aria-hidden": "true" },
      el("span"),
      el("span"),
      el("span", {}, "smallest chance"),
      el("span", { class: "two" }, "steady drift cancelled"),
    ),
    ...rows,
  );
}
