/** The signals to choose from, each with value and trace. Rows stay while a person uses them; values change. Holds what is chosen. */
import type { RoleView, SignalView } from "../../../shared/contract/wiring-contract.ts";
import { el, setText } from "../../screen/dom.ts";
import { signalValue } from "./signal-value.ts";
import { createSmallTrace, type SmallTrace } from "./small-trace.ts";

/** Of 1: from here a suggestion is chosen beforehand. */
const GOOD_SCORE = 0.3;
/** Wheels are chosen beforehand only once hard acceleration has told the driven from the undriven ones; until then each scores 0.65 at most. */
const GOOD_WHEEL_SCORE = 0.68;
/** The wheels of one axle behave alike: each scores at least this share of the best. */
const SAME_AXLE = 0.8;

interface Row {
  readonly element: HTMLElement;
  readonly box: HTMLInputElement;
  readonly value: HTMLElement;
  readonly trace: SmallTrace;
}

export interface SignalList {
  readonly element: HTMLElement;
  show(found: readonly SignalView[]): void;
  /** What a person chose; where nobody chose, the only one that is left of the list. */
  chosen(): readonly string[];
}

/** The suggestions good enough to be chosen for a person: of a role with one signal the first, of the wheels those of one axle. */
export function chosenBeforehand(found: readonly SignalView[], isList: boolean): readonly SignalView[] {
  const best = found[0]?.suggested ?? null;
  if (best === null || best.score <= (isList ? GOOD_WHEEL_SCORE : GOOD_SCORE)) return [];
  if (!isList) return found.slice(0, 1);
  return found.filter(
    ({ suggested }) => suggested !== null && suggested.invert === best.invert && suggested.score > SAME_AXLE * best.score,
  );
}

/** `title`: the role in words. `onInvert`: a suggestion was chosen, with its sign. */
export function createSignalList(role: RoleView, title: string, onInvert: (invert: boolean) => void): SignalList {
  const rows = new Map<string, Row>();
  const element = el("div", { class: "signals", role: role.list ? "group" : "radiogroup", "aria-label": `Signals for ${title}` });
  const empty = el("p", { class: "quiet" }, "No signal of the file fits this role and these words.");
  const chosen = new Set(role.signals.map(({ signal }) => signal));
  let shown = "";
  /** From then on only the person chooses. */
  let isTouched = chosen.size > 0;

  function rowOf(view: SignalView): Row {
    const box = el("input", { type: role.list ? "checkbox" : "radio", name: "signal", value: view.signal });
    box.checked = chosen.has(view.signal);
    box.addEventListener("change", () => {
      isTouched = true;
      if (!role.list) chosen.clear();
      if (box.checked) chosen.add(view.signal);
      else chosen.delete(view.signal);
      if (view.suggested !== null) onInvert(view.suggested.invert);
    });
    const value = el("span", { class: "value" });
    const trace = createSmallTrace();
    const why = view.suggested === null ? "" : `suggested: ${view.suggested.why}`;
    const name = el("span", { class: "name" }, view.signal, el("span", { class: "quiet why" }, why));
    return { element: el("label", { class: "signal" }, box, name, trace.element, value), box, value, trace };
  }

  function renew(found: readonly SignalView[]): void {
    rows.clear();
    for (const view of found) rows.set(view.signal, rowOf(view));
    element.replaceChildren(...(rows.size === 0 ? [empty] : Array.from(rows.values(), (row) => row.element)));
  }

  /** A suggestion may become good while the list is open, with the order it has. */
  function chooseGood(found: readonly SignalView[]): void {
    if (isTouched || chosen.size > 0) return;
    for (const { signal, suggested } of chosenBeforehand(found, role.list)) {
      const row = rows.get(signal);
      if (row === undefined || suggested === null) continue;
      chosen.add(signal);
      row.box.checked = true;
      onInvert(suggested.invert);
    }
  }

  return {
    element,
    show(found) {
      const now = found.map(({ signal, suggested }) => `${signal}${suggested === null ? "" : "*"}`).join();
      if (now !== shown && !element.contains(document.activeElement)) {
        shown = now;
        renew(found);
      }
      chooseGood(found);
      for (const view of found) {
        const row = rows.get(view.signal);
        if (row === undefined) continue;
        setText(row.value, signalValue(view));
        row.trace.draw(view.trace);
      }
    },
    chosen: () => (chosen.size === 0 && rows.size === 1 ? [...rows.keys()] : [...chosen]),
  };
}
