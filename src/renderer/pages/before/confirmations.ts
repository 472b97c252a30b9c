/** What only the two people can confirm, as boxes to tick. Valid for this session: a reload asks again. */
import { el } from "../../screen/dom.ts";
import { CAUTIONS } from "./cautions.ts";

export interface Confirmations {
  readonly element: HTMLElement;
  /** Number of boxes not ticked yet. */
  left(): number;
  /** The first box that is not ticked. */
  firstLeft(): HTMLInputElement | undefined;
}

export function createConfirmations(onChange: () => void): Confirmations {
  const boxes = CAUTIONS.map(() => el("input", { type: "checkbox" }));
  for (const box of boxes) box.addEventListener("change", onChange);
  const left = () => boxes.filter((box) => !box.checked);
  return {
    element: el(
      "ul",
      { class: "confirm" },
      ...CAUTIONS.map((text, i) => el("li", {}, el("label", { class: "row" }, boxes[i] as HTMLInputElement, text))),
    ),
    left: () => left().length,
    firstLeft: () => left()[0],
  };
}
