/** The roles as rows: signal, present value, trace, check in words. Rows keep their place and focus while values change. */
import type { CheckView, RoleName, RoleView, WiringView } from "../../../shared/contract/wiring-contract.ts";
import { speedIn } from "../../../shared/kernel/shown-units.ts";
import { el, glyph, setText } from "../../screen/dom.ts";
import { quantity } from "../../screen/format.ts";
import { said, units } from "../../screen/units.ts";
import type { CableEnd } from "./cables.ts";
import { signalValue } from "./signal-value.ts";
import { sourceWords } from "./source-box.ts";
import { createSmallTrace, type SmallTrace } from "./small-trace.ts";
import { FIRST_ROLES, ROLE_ORDER, ROLE_TITLES } from "./wiring-words.ts";

const MARKS: Readonly<Record<CheckView["mark"], readonly [path: string, filled: boolean, word: string]>> = {
  tick: ["M4 22 L15 33 L36 6", false, "checked"],
  triangle: ["M20 3 L38 36 H2 Z", true, "wrong"],
  dots: ["M4 17h6v6h-6zM17 17h6v6h-6zM30 17h6v6h-6z", true, "waiting"],
  dash: ["M4 20 H36", false, "silent"],
  none: ["", false, ""],
};
const WORST: readonly CheckView["mark"][] = ["triangle", "dash", "dots", "tick", "none"];

interface Row {
  readonly element: HTMLTableRowElement;
  readonly name: HTMLButtonElement;
  readonly signal: HTMLElement;
  readonly value: HTMLElement;
  readonly trace: SmallTrace;
  readonly mark: HTMLElement;
  readonly words: HTMLElement;
  shownMark: CheckView["mark"] | null;
}

export interface RoleTable {
  readonly element: HTMLTableElement;
  /** `worst`: the row shown inverse. Returns where the cables end. */
  show(view: WiringView, worst: RoleName | null): CableEnd[];
  selected(): RoleName | null;
  move(by: 1 | -1): void;
  toggleAll(): void;
}

function createRow(title: string, onPick: () => void): Row {
  const name = el("button", { type: "button", class: "role" }, title);
  name.addEventListener("click", onPick);
  const [signal, value, mark, words] = [
    el("td", { class: "of-signal" }),
    el("td", { class: "value" }),
    el("span", { class: "mark" }),
    el("span"),
  ];
  const trace = createSmallTrace();
  const element = el(
    "tr",
    {},
    el("th", { scope: "row" }, name),
    signal,
    value,
    el("td", { class: "of-trace" }, trace.element),
    el("td", { class: "check-cell" }, mark, words),
  );
  return { element, name, signal, value, trace, mark, words, shownMark: null };
}

function showMark(row: Row, mark: CheckView["mark"]): void {
  if (row.shownMark === mark) return;
  row.shownMark = mark;
  const [path, filled, word] = MARKS[mark];
  row.mark.replaceChildren(...(path === "" ? [] : [glyph(path, filled), el("span", { class: "out-of-sight" }, word)]));
}

export function createRoleTable(onPick: (role: RoleName) => void): RoleTable {
  const ground = createRow("Ground speed", () => undefined);
  const rows = new Map<RoleName, Row>(ROLE_ORDER.map((role) => [role, createRow(ROLE_TITLES[role], () => onPick(role))]));
  let all = false;
  const head = el("thead", {}, el("tr", {}, ...["Role", "Signal", "Now", "30 s", "Check"].map((text) => el("th", { scope: "col" }, text))));
  const element = el(
    "table",
    { class: "roles" },
    head,
    el("tbody", {}, ground.element, ...Array.from(rows.values(), (row) => row.element)),
  );

  function showRole(row: Row, view: RoleView, worst: boolean): CableEnd {
    const check = view.signals.map((signal) => signal.check).sort((a, b) => WORST.indexOf(a.mark) - WORST.indexOf(b.mark))[0];
    const first = view.signals[0];
    row.element.classList.toggle("worst", worst);
    row.element.classList.toggle("needed", view.needed);
    row.element.classList.toggle("unmapped", first === undefined);
    const others = view.signals.length > 1 ? ` and ${view.signals.length - 1} more` : "";
    setText(row.signal, first === undefined ? "not mapped" : `${first.invert ? "\u2212" : ""}${first.signal}${others}`);
    row.signal.title = view.signals.map(({ signal }) => signal).join(", ");
    setText(row.value, first === undefined ? "" : signalValue(first));
    row.trace.draw(first?.trace ?? []);
    showMark(row, check?.mark ?? "none");
    setText(row.words, check?.words ?? (view.needed ? "needed" : "optional"));
    row.words.title = said(check?.why ?? "");
    const silent = check?.mark === "dash";
    return {
      source: "can",
      row: row.element,
      state: first === undefined ? "unmapped" : silent ? "silent" : "live",
      checked: check?.mark === "tick",
    };
  }

  const visible = () => Array.from(rows.entries()).filter(([, row]) => !row.element.hidden);

  return {
    element,
    show(view, worst) {
      const speed = view.groundSpeedMps;
      const talks = view.gnss !== null;
      setText(ground.signal, talks ? "receiver" : "not plugged in");
      setText(ground.value, talks ? quantity(speedIn(units(), speed), units().speed, 1) : "");
      showMark(ground, speed === null ? (talks ? "dash" : "none") : "tick");
      setText(ground.words, speed === null ? (talks ? sourceWords(view.gnss) : "needed") : speed > 1 ? "moves" : "talks");
      const ends: CableEnd[] = [
        { source: "gnss", row: ground.element, state: !talks ? "unmapped" : speed === null ? "silent" : "live", checked: speed !== null },
      ];
      for (const [i, role] of ROLE_ORDER.entries()) {
        const row = rows.get(role) as Row;
        const found = view.roles.find((each) => each.role === role);
        row.element.hidden =
          found === undefined || (!all && i >= FIRST_ROLES && found.signals.every(({ check }) => check.mark !== "triangle"));
        if (found === undefined || row.element.hidden) continue;
        ends.push(showRole(row, found, worst === role));
      }
      return ends;
    },
    selected: () => visible().find(([, row]) => row.name === document.activeElement)?.[0] ?? null,
    move(by) {
      const names = visible().map(([, row]) => row.name);
      const at = names.indexOf(document.activeElement as HTMLButtonElement);
      names[at < 0 ? (by > 0 ? 0 : names.length - 1) : Math.max(0, Math.min(names.length - 1, at + by))]?.focus();
    },
    toggleAll() {
      all = !all;
    },
  };
}
