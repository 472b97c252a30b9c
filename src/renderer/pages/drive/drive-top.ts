/** The upper part of the passenger's view: the state, the next run, and the health of receiver and bus; each state has its own shape. */
import type { SourceHealth, SourceState } from "../../../shared/contract/contract.ts";
import { el, glyph, setText } from "../../screen/dom.ts";
import { healthWord, UNKNOWN } from "../../screen/format.ts";
import { hint } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import type { DriveView } from "./drive-view.ts";

export const OCTAGON = "M12 2 H28 L38 12 V28 L28 38 H12 L2 28 V12 Z";
/** One mark for each state, told apart by shape: tick, dash, three dots, ring, triangle. */
const HEALTH: Readonly<Record<SourceState, readonly [string, boolean]>> = {
  fresh: ["M4 22 L15 33 L36 6", false],
  stale: ["M4 20 H36", false],
  waiting: ["M4 18 H9 V23 H4 Z M18 18 H23 V23 H18 Z M32 18 H37 V23 H32 Z", true],
  absent: ["M20 6 A14 14 0 1 0 20.1 6", false],
  wrong: ["M20 3 L38 36 H2 Z", true],
};

export interface DriveTop {
  readonly element: HTMLElement;
  /** The next run and its label; pressing it changes the label. */
  readonly run: HTMLButtonElement;
  say(view: DriveView, locked: boolean): void;
  sayHealth(gnss: SourceHealth | null, can: SourceHealth | null): void;
}

function healthMark(name: string): { readonly element: HTMLElement; set(health: SourceHealth | null): void } {
  const words = el("span", {}, name);
  const element = el("span", { class: "ear" }, glyph(...HEALTH.waiting), words);
  let shown = "";
  return {
    element,
    set(health) {
      const state = health?.state ?? "stale";
      // Fresh is only the mark; any other state has words beside the name.
      const text = state === "fresh" ? name : `${name}: ${health === null ? UNKNOWN : healthWord(health)}`;
      if (shown === state + text) return;
      shown = state + text;
      setText(words, text);
      element.replaceChild(glyph(...HEALTH[state]), element.firstChild as Node);
      element.dataset.state = state;
    },
  };
}

export function createDriveTop(keys: KeyMap): DriveTop {
  const plate = el("span", { class: "plate" });
  const runWords = el("span", { class: "run-words" });
  const runKey = hint(keys, "drive.label");
  // A special button: it leaves Space to Arm, whatever was touched last.
  const run = el("button", { type: "button", class: "run", "data-kind": "label", "aria-haspopup": "dialog" }, runWords, runKey);
  const receiver = healthMark("Receiver");
  const bus = healthMark("Bus");
  return {
    element: el("div", { class: "top" }, plate, run, el("div", { class: "health" }, receiver.element, bus.element)),
    run,
    say(view, locked) {
      const { state, word } = view.plate;
      if (plate.dataset.state !== state) {
        plate.dataset.state = state;
        const mark = state === "aborted" ? [glyph(OCTAGON, true)] : state === "done" ? [glyph(HEALTH.fresh[0])] : [];
        plate.replaceChildren(...mark, word);
      }
      setText(runWords, view.run);
      run.title = view.label;
      run.hidden = view.run === "";
      run.setAttribute("aria-disabled", String(locked));
      runKey.hidden = locked;
    },
    sayHealth(gnss, can) {
      receiver.set(gnss);
      bus.set(can);
    },
  };
}
