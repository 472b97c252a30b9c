/** The passenger's view as elements, and how a view's words go into them. Words change only when they differ, so readers hear nothing twice. */
import { el, glyph, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { healthWord, UNKNOWN } from "../../screen/format.ts";
import type { SourceHealth, SourceState } from "../../../shared/contract/contract.ts";
import type { DriveView } from "./drive-view.ts";

const OCTAGON = "M12 2 H28 L38 12 V28 L28 38 H12 L2 28 V12 Z";
/** One mark a state, told apart by shape: tick, dash, three dots, ring, triangle. */
const HEALTH: Readonly<Record<SourceState, readonly [string, boolean]>> = {
  fresh: ["M4 22 L15 33 L36 6", false],
  stale: ["M4 20 H36", false],
  waiting: ["M4 18 H9 V23 H4 Z M18 18 H23 V23 H18 Z M32 18 H37 V23 H32 Z", true],
  absent: ["M20 6 A14 14 0 1 0 20.1 6", false],
  wrong: ["M20 3 L38 36 H2 Z", true],
};

/** Letters that stand in two lines of the hero, and in one beside it; more are smaller, and cut where even that is too little. */
const HERO_LONG = 32;
const SETTING_LONG = 16;

export interface DriveElements {
  readonly root: HTMLElement;
  readonly speedCanvas: HTMLCanvasElement;
  readonly torqueCanvas: HTMLCanvasElement;
  readonly seamCanvas: HTMLCanvasElement;
  /** Numerals of the two pairs: ground, wheel, delivered, asked. */
  readonly numerals: readonly [HTMLElement, HTMLElement, HTMLElement, HTMLElement];
  readonly action: HTMLButtonElement;
  readonly leave: HTMLButtonElement;
  readonly again: HTMLButtonElement;
  /** Adds a note to what was just aborted. */
  readonly note: HTMLButtonElement;
  /** The next run and its label, which it changes. */
  readonly run: HTMLButtonElement;
  /** Where the frame puts what can be undone. */
  readonly undoSlot: HTMLElement;
  /** Puts a view's words in place. */
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
      // Fresh is the mark alone; anything else says so in words beside the name.
      const text = state === "fresh" ? name : `${name}: ${health === null ? UNKNOWN : healthWord(health)}`;
      if (shown === state + text) return;
      shown = state + text;
      setText(words, text);
      element.replaceChild(glyph(...HEALTH[state]), element.firstChild as Node);
      element.dataset.state = state;
    },
  };
}

export function createDriveElements(keys: KeyMap): DriveElements {
  const plate = el("span", { class: "plate" });
  const runWords = el("span", { class: "run-words" });
  const runKey = hint(keys, "drive.label");
  // A kind of its own leaves Space to Arm, whatever was touched last.
  const run = el("button", { type: "button", class: "run", "data-kind": "label", "aria-haspopup": "dialog" }, runWords, runKey);
  const receiver = healthMark("Receiver");
  const bus = healthMark("Bus");
  const heroLabel = el("p", { class: "quiet" });
  const heroText = el("span", { class: "text" });
  const heroUnit = el("span", { class: "unit" });
  const heroFigure = el("p", { class: "figure" }, heroText, heroUnit);
  const numeral = () => el("b");
  const [ground, wheel, delivered, asked] = [numeral(), numeral(), numeral(), numeral()];
  const speedCanvas = el("canvas", { "aria-hidden": "true" });
  const torqueCanvas = el("canvas", { "aria-hidden": "true" });
  const pairs = el(
    "div",
    { class: "pairs" },
    el(
      "div",
      { class: "pair" },
      el("p", { class: "pair-head" }, el("span", {}, "Ground ", ground), el("span", {}, "wheel ", wheel, " km/h")),
      speedCanvas,
    ),
    el(
      "div",
      { class: "pair" },
      el("p", { class: "pair-head" }, el("span", {}, "Delivered ", delivered), el("span", {}, "asked ", asked, " Nm")),
      torqueCanvas,
    ),
  );
  const settingWhat = el("p", { class: "quiet" });
  const settingHow = el("p", { class: "setting" });
  const settingLines = el("div");
  const settingBox = el("div", {}, settingWhat, settingHow, settingLines);
  const slip = el("p", { class: "value slip" });
  const held = el("p", { class: "value held" });
  const seamCanvas = el("canvas", { role: "img", "aria-label": "The seam: slip above the ground line, torque held back below it" });
  const strong = el("strong");
  const quiet = el("span", { class: "quiet" });
  const what = el("span", { class: "what" });
  const armKey = hint(keys, "drive.arm");
  const abortKey = hint(keys, "drive.abort");
  const action = el("button", { type: "button", class: "main solid" }, what, armKey, abortKey);
  const leave = el("button", { type: "button", class: "leave" }, "Leave", hint(keys, "drive.leave"));
  const again = el("button", { type: "button", class: "again", hidden: true }, "Drive again", hint(keys, "drive.again"));
  const note = el("button", { type: "button", class: "note", hidden: true, "data-kind": "note" }, "Note", hint(keys, "drive.note"));
  const atLaptop = el("span", { class: "at-laptop" }, "Arm and label at the laptop");
  const undoSlot = el("div", { class: "undo-slot" });
  const root = el(
    "div",
    { class: "drive" },
    el("h1", { class: "out-of-sight" }, "Drive"),
    el("div", { class: "top" }, plate, run, el("div", { class: "health" }, receiver.element, bus.element)),
    el("div", { class: "hero" }, heroLabel, heroFigure),
    el("div", { class: "side" }, pairs, settingBox),
    el(
      "div",
      { class: "seam-row" },
      el(
        "div",
        { class: "loss" },
        el("div", {}, el("p", { class: "quiet" }, "Slip"), slip),
        el("div", {}, held, el("p", { class: "quiet" }, "held back")),
      ),
      el("div", { class: "seam" }, seamCanvas),
    ),
    el("div", { class: "foot" }, el("p", { class: "next" }, strong, quiet), undoSlot, again, note, leave, atLaptop, action),
  );

  const sayLoss = (element: HTMLElement, kind: string, text: string) => {
    setText(element, text);
    const word = text === UNKNOWN || text === "none";
    // A wheel slower than the ground, as under the motor's own braking, loses nothing: colour is for loss alone.
    const plain = word || text.startsWith("\u2212");
    element.className = `value ${kind}${word ? " word" : ""}${plain ? " plain" : ""}`;
  };

  return {
    root,
    speedCanvas,
    torqueCanvas,
    seamCanvas,
    numerals: [ground, wheel, delivered, asked],
    action,
    leave,
    again,
    note,
    run,
    undoSlot,
    say(view, locked) {
      if (plate.dataset.state !== view.plate.state) {
        plate.dataset.state = view.plate.state;
        const mark = view.plate.state === "aborted" ? [glyph(OCTAGON, true)] : view.plate.state === "done" ? [glyph(HEALTH.fresh[0])] : [];
        plate.replaceChildren(...mark, view.plate.word);
      }
      setText(runWords, view.run);
      run.hidden = view.run === "";
      run.setAttribute("aria-disabled", String(locked));
      runKey.hidden = locked;
      setText(heroLabel, view.hero.label);
      setText(heroText, view.hero.text);
      setText(heroUnit, view.hero.unit);
      const longer = view.hero.size === "long" && view.hero.text.length > HERO_LONG ? "longer" : "";
      heroFigure.className = [
        "figure",
        view.hero.size === "figure" ? "" : view.hero.size,
        longer,
        view.hero.caution === true ? "caution" : "",
      ]
        .filter((name) => name !== "")
        .join(" ");
      pairs.hidden = view.side !== "pairs";
      settingBox.hidden = view.side === "pairs";
      if (view.side !== "pairs") {
        setText(settingWhat, view.side.what);
        setText(settingHow, view.side.how);
        settingHow.classList.toggle("long", view.side.how.length > 4);
        settingHow.classList.toggle("longer", view.side.how.length > SETTING_LONG);
        settingHow.classList.toggle("caution", view.side.caution);
        if (settingLines.textContent !== view.side.lines.join(""))
          settingLines.replaceChildren(...view.side.lines.map((line) => el("p", {}, line)));
      }
      sayLoss(slip, "slip", view.slip);
      sayLoss(held, "held", view.held);
      setText(strong, view.action.kind === "arm" && view.action.offBecause !== null ? view.action.offBecause : view.next.strong);
      setText(quiet, view.next.quiet);
      const kind = view.action.kind;
      if (action.dataset.kind !== kind) {
        action.dataset.kind = kind;
        what.replaceChildren(...(kind === "abort" ? [glyph(OCTAGON, true), "Abort"] : ["Arm"]));
        armKey.hidden = kind === "abort";
        abortKey.hidden = kind !== "abort";
      }
      const off = view.action.kind === "arm" && view.action.offBecause !== null;
      action.setAttribute("aria-disabled", String(off));
      action.classList.toggle("solid", !off);
      again.hidden = locked || !view.mayDriveAgain;
      note.hidden = locked || !view.mayNote;
      undoSlot.hidden = locked;
      leave.hidden = locked || view.action.kind === "abort";
    },
    sayHealth(gnss, can) {
      receiver.set(gnss);
      bus.set(can);
    },
  };
}
