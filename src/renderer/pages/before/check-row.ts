/**
 * One line of what Gripbook checked: its mark (by shape, not only colour), what was found, the remedy, and the buttons that fix or overrule
 * it.
 */
import { RING, TICK, TRIANGLE } from "../../screen/icons.ts";
import type { BeforeRow } from "../../../shared/contract/contract.ts";
import { el, glyph } from "../../screen/dom.ts";

const HOLLOW = "M20 8 L34 34 H6 Z";

export type Mark = "ticked" | "waiting" | "wrong" | "overruled";

export const markOf = ({ state, overruled }: BeforeRow): Mark =>
  state === "green" ? "ticked" : overruled !== null ? "overruled" : state === "wrong" ? "wrong" : "waiting";
const spoken: Readonly<Record<Mark, string>> = {
  ticked: "checked",
  waiting: "waiting",
  wrong: "wrong",
  overruled: "driven in spite of it",
};
const shapes: Readonly<Record<Mark, () => SVGSVGElement>> = {
  ticked: () => glyph(TICK),
  overruled: () => glyph(HOLLOW),
  waiting: () => glyph(RING),
  wrong: () => glyph(TRIANGLE, true),
};

const begun = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

function line(name: string, mark: Mark, ...below: Node[]): HTMLElement {
  return el(
    "li",
    { class: `check ${mark}` },
    shapes[mark](),
    el("span", { class: "name" }, name, el("span", { class: "out-of-sight" }, `: ${spoken[mark]}`)),
    ...below,
  );
}

const quiet = (text: string) => el("span", { class: "quiet" }, text);

/** Book and adapter are known without a check. */
export const standing = (bookFile: string) => [
  line("Book is open", bookFile === "" ? "waiting" : "ticked", quiet(bookFile === "" ? "unknown" : bookFile)),
  line("Only listening", "ticked", quiet("Nothing is ever sent on the car\u2019s bus or to the receiver")),
];

export interface CheckActs {
  /** The antenna was fixed in place. */
  fixed(): unknown;
  /** Drives in spite of it, or removes that. */
  overrule(check: BeforeRow): unknown;
}

export function checkRow(check: BeforeRow, { fixed, overrule }: CheckActs): HTMLElement {
  const mark = markOf(check);
  if (mark === "ticked") return line(check.name, mark, quiet(begun(check.words)));
  const button = (words: string, act: () => unknown) => {
    const element = el("button", { type: "button", "data-key": `${check.key} ${words}` }, words);
    element.addEventListener("click", () => void act());
    return element;
  };
  const told =
    check.overruled === null
      ? `${begun(check.words)}. ${begun(check.remedy)}.`
      : `${begun(check.words)}. Driven in spite of it: ${check.overruled}`;
  return line(
    check.name,
    mark,
    quiet(told),
    el(
      "span",
      { class: "buttons" },
      ...(check.key === "antenna" ? [button("It is fixed", fixed)] : []),
      button(check.overruled === null ? "Overrule" : "Withdraw", () => overrule(check)),
    ),
  );
}
