/**
 * The middle of the passenger's view: the large figure; beside it the two pairs, or the setting; below it slip, the seam and torque held
 * back. Unknown is the word.
 */
import { el, setText } from "../../screen/dom.ts";
import { number, UNKNOWN } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import type { DriveView } from "./drive-view.ts";

/**
 * Letters that fit in two lines of the large figure, or in one line beside it. Longer texts get smaller letters, and are cut where even
 * that is not enough.
 */
const HERO_LONG = 32;
const SETTING_LONG = 16;

export interface Hero {
  readonly element: HTMLElement;
  say(hero: DriveView["hero"]): void;
}

export function createHero(): Hero {
  const label = el("p", { class: "quiet" });
  const text = el("span", { class: "text" });
  const unit = el("span", { class: "unit" });
  const figure = el("p", { class: "figure" }, text, unit);
  return {
    element: el("div", { class: "hero" }, label, figure),
    say(hero) {
      setText(label, hero.label);
      setText(text, hero.text);
      setText(unit, hero.unit);
      const size = hero.size === "figure" ? "" : hero.size;
      const longer = hero.size === "long" && hero.text.length > HERO_LONG ? "longer" : "";
      const caution = hero.caution === true ? "caution" : "";
      // A label that is cut stands whole there.
      figure.title = hero.size === "long" ? hero.text : "";
      figure.className = ["figure", size, longer, caution].filter((name) => name !== "").join(" ");
    },
  };
}

export interface Side {
  readonly element: HTMLElement;
  readonly speedCanvas: HTMLCanvasElement;
  readonly torqueCanvas: HTMLCanvasElement;
  /** Numbers of the two pairs: ground, wheel, delivered, asked; null unknown. */
  sayNumbers(values: readonly (number | null | undefined)[]): void;
  say(side: DriveView["side"]): void;
}

export function createSide(): Side {
  const numeral = () => el("b");
  const [ground, wheel, delivered, asked] = [numeral(), numeral(), numeral(), numeral()];
  const speedCanvas = el("canvas", { "aria-hidden": "true" });
  const torqueCanvas = el("canvas", { "aria-hidden": "true" });
  const [speed, nm] = [el("span", {}, ` ${units().speed}`), el("span", {}, " Nm")];
  const unitOf = new Map([
    [wheel, speed],
    [asked, nm],
  ]);
  const pair = (canvas: HTMLCanvasElement, ...head: HTMLElement[]) =>
    el("div", { class: "pair" }, el("p", { class: "pair-head" }, ...head), canvas);
  const pairs = el(
    "div",
    { class: "pairs" },
    pair(speedCanvas, el("span", {}, "Ground ", ground), el("span", {}, "wheel ", wheel, speed)),
    pair(torqueCanvas, el("span", {}, "Delivered ", delivered), el("span", {}, "asked ", asked, nm)),
  );
  const what = el("p", { class: "quiet" });
  const how = el("p", { class: "setting" });
  const lines = el("div");
  const setting = el("div", {}, what, how, lines);
  return {
    element: el("div", { class: "side" }, pairs, setting),
    speedCanvas,
    torqueCanvas,
    sayNumbers(values) {
      for (const [i, element] of [ground, wheel, delivered, asked].entries()) {
        const text = number(values[i]);
        setText(element, text);
        // The word takes the room of its unit.
        element.classList.toggle("word", text === UNKNOWN);
        unitOf.get(element)?.toggleAttribute("hidden", text === UNKNOWN);
      }
    },
    say(side) {
      pairs.hidden = side !== "pairs";
      setting.hidden = side === "pairs";
      if (side === "pairs") return;
      setText(what, side.what);
      setText(how, side.how);
      how.title = side.how;
      how.classList.toggle("long", side.how.length > 4);
      how.classList.toggle("longer", side.how.length > SETTING_LONG);
      how.classList.toggle("caution", side.caution);
      if (lines.textContent !== side.lines.join("")) lines.replaceChildren(...side.lines.map((line) => el("p", {}, line)));
    },
  };
}

export interface SeamRow {
  readonly element: HTMLElement;
  readonly canvas: HTMLCanvasElement;
  say(slip: string, held: string): void;
}

function sayLoss(element: HTMLElement, kind: string, text: string): void {
  setText(element, text);
  const word = text === UNKNOWN || text === "none";
  // A wheel slower than the ground, as in motor braking, loses nothing: colour is only for loss.
  const plain = word || /^(\u2212|0\b)/.test(text);
  element.className = `value ${kind}${word ? " word" : ""}${plain ? " plain" : ""}`;
}

export function createSeamRow(): SeamRow {
  const slip = el("p", { class: "value slip" });
  const held = el("p", { class: "value held" });
  const canvas = el("canvas", { role: "img", "aria-label": "The seam: slip above the ground line, torque held back below it" });
  return {
    element: el(
      "div",
      { class: "seam-row" },
      el(
        "div",
        { class: "loss" },
        el("div", {}, el("p", { class: "quiet" }, "Slip"), slip),
        el("div", {}, held, el("p", { class: "quiet" }, "held back")),
      ),
      el("div", { class: "seam" }, canvas),
    ),
    canvas,
    say(slipText, heldText) {
      sayLoss(slip, "slip", slipText);
      sayLoss(held, "held", heldText);
    },
  };
}
