/** The signals to pick from, each with its value and trace: rows stay while a person is in them, values move. What is picked is held here. */
import type { RoleView, SignalView } from "../../../shared/contract/wiring-contract.ts";
import { el, setText } from "../../screen/dom.ts";
import { signalValue } from "./signal-value.ts";
import { createSmallTrace, type SmallTrace } from "./small-trace.ts";

interface Row {
  readonly element: HTMLElement;
  readonly value: HTMLElement;
  readonly trace: SmallTrace;
}

export interface SignalList {
  readonly element: HTMLElement;
  show(found: readonly SignalView[]): void;
  chosen(): readonly string[];
}

/** `title`: the role in words. `onInvert`: a suggestion was picked, with the sign that it has. */
export function createSignalList(role: RoleView, title: string, onInvert: (invert: boolean) => void): SignalList {
  const rows = new Map<string, Row>();
  const element = el("div", { class: "signals", role: role.list ? "group" : "radiogroup", "aria-label": `Signals for ${title}` });
  const empty = el("p", { class: "quiet" }, "No signal of the file fits this role and these words.");
  const chosen = new Set(role.signals.map(({ signal }) => signal));
  let shown = "";

  function rowOf(view: SignalView): Row {
    const box = el("input", { type: role.list ? "checkbox" : "radio", name: "signal", value: view.signal });
    box.checked = chosen.has(view.signal);
    box.addEventListener("change", () => {
      if (!role.list) chosen.clear();
      if (box.checked) chosen.add(view.signal);
      else chosen.delete(view.signal);
      if (view.suggested !== null) onInvert(view.suggested.invert);
    });
    const value = el("span", { class: "value" });
    const trace = createSmallTrace();
    const why = view.suggested === null ? "" : `suggested: ${view.suggested.why}`;
    const name = el("span", { class: "name" }, view.signal, el("span", { class: "quiet why" }, why));
    return { element: el("label", { class: "signal" }, box, name, trace.element, value), value, trace };
  }

  function renew(found: readonly SignalView[]): void {
    rows.clear();
    const best = found[0];
    if (chosen.size === 0 && best !== undefined && best.suggested !== null && best.suggested.score > 0.3) {
      chosen.add(best.signal);
      onInvert(best.suggested.invert);
    }
    for (const view of found) rows.set(view.signal, rowOf(view));
    element.replaceChildren(...(rows.size === 0 ? [empty] : Array.from(rows.values(), (row) => row.element)));
  }

  return {
    element,
    show(found) {
      const now = found.map(({ signal, suggested }) => `${signal}${suggested === null ? "" : "*"}`).join();
      if (now !== shown && !element.contains(document.activeElement)) {
        shown = now;
        renew(found);
      }
      for (const view of found) {
        const row = rows.get(view.signal);
        if (row === undefined) continue;
        setText(row.value, signalValue(view));
        row.trace.draw(view.trace);
      }
    },
    chosen: () => [...chosen],
  };
}
