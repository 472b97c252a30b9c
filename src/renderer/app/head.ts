/** The head of every page but Drive: product name, page names, car and day, the colour scheme. */
import { el, glyph, setText } from "../screen/dom.ts";
import { hint } from "../screen/key-hints.ts";
import type { KeyMap } from "../screen/key-map.ts";
import type { Page } from "../screen/page.ts";
import type { PageName } from "../screen/page-name.ts";
import type { Scheme } from "./settings.ts";

const SCHEME_WORD: Readonly<Record<Scheme, string>> = { day: "Day", night: "Night", sun: "Sun" };

export interface Head {
  readonly element: HTMLElement;
  current(name: PageName): void;
  /** Puts the undo bar here. */
  takeUndo(): void;
  say(car: string, day: string, simulated: boolean): void;
  scheme(scheme: Scheme): void;
}

/** The mark: ink above the line, ink below it. */
function mark(): SVGSVGElement {
  return glyph("M2 16 Q10 -8 20 16 Z M0 18 H38 V22 H0 Z M14 24 H37 Q32 38 25 36 Q18 34 14 24 Z", true, "0 0 38 38");
}

export function createHead(pages: readonly Page[], undo: HTMLElement, keys: KeyMap, onScheme: () => void, onKeys: () => void): Head {
  const links = pages.map((page) => ({ page, link: el("a", { href: `#${page.name}` }, page.title) }));
  const where = el("span", { class: "frame-day" });
  const scheme = el("button", { type: "button", class: "scheme" });
  scheme.addEventListener("click", onScheme);
  const settings = el("button", { type: "button", class: "to-keys" }, el("span", { class: "out-of-sight" }, "Keys and settings, "), "F1");
  settings.addEventListener("click", onKeys);
  return {
    element: el(
      "header",
      { class: "frame" },
      el("span", { class: "frame-name" }, mark(), "Gripbook"),
      el("nav", { "aria-label": "Pages" }, ...links.map(({ link }) => link)),
      undo,
      where,
      scheme,
      settings,
    ),
    takeUndo: () => where.before(undo),
    current(name) {
      for (const { page, link } of links) {
        if (page.name === name) link.setAttribute("aria-current", "page");
        else link.removeAttribute("aria-current");
      }
    },
    say(car, day, simulated) {
      // A date is not broken across lines.
      const date = day.replaceAll(" ", "\u00a0");
      setText(where, [`${car}${simulated ? " (simulated car)" : ""}`, date].filter((part) => part !== "").join(", "));
    },
    scheme(now) {
      scheme.replaceChildren(
        el("span", {}, SCHEME_WORD[now], el("span", { class: "out-of-sight" }, " scheme, change it")),
        hint(keys, "everywhere.scheme"),
      );
    },
  };
}
