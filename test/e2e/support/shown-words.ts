/** What a page says, to look for speeds and lengths that are not in mph and ft; what keeps its own units (docs/look.md, "Units") aside. */
import { STANDARD_GATES } from "../../../src/shared/launch/gate.ts";

/** Every word that is shown or read aloud: text, titles, names for screen readers, what is drawn on canvases. In the page. */
export function shownWords(): string[] {
  const words: string[] = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_ELEMENT);
  for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
    const element = node as HTMLElement;
    if (!element.checkVisibility() || element.closest("iframe") !== null) continue;
    const own = [...element.childNodes].filter((child) => child.nodeType === Node.TEXT_NODE).map((child) => child.textContent ?? "");
    // A number and its unit may stand in two elements.
    const around = own.join("").trim() === "" ? [] : [element.parentElement?.textContent ?? ""];
    const named = ["title", "aria-label", "aria-valuetext", "placeholder"].map((name) => element.getAttribute(name) ?? "");
    // The car's own measures keep the units of its set-up, and a signal that of its file (docs/look.md).
    const signal = element.closest(".page.wiring tr")?.querySelector(".of-signal")?.textContent ?? "";
    const of = element.closest(".page.car") !== null ? "car: " : signal.includes(".") ? "signal: " : "";
    for (const text of [...own, ...named, ...(around.join("").length < 200 ? around : [])])
      if (text.trim() !== "") words.push(of + text.trim());
    if (element instanceof HTMLCanvasElement && "drawnTexts" in window)
      words.push(...window.drawnTexts(element).map(({ text }) => of + text));
  }
  return words;
}

/** Gates are called what the person called them. */
const GATES = [...STANDARD_GATES.map(({ name }) => name), "from 20 to 80 km/h, past the second marker board on the left"].flatMap(
  (name) => [name, name.replace(/(\d)-(\d)/, "$1\u2013$2"), name.replace(/^0-(\d)/, "$1")],
);
const withoutGates = (text: string) => GATES.reduce((rest, gate) => rest.replaceAll(gate, ""), text);

/** What is in km/h or m all the same. */
export function inOtherUnits(words: readonly string[]): string[] {
  return [...new Set(words.map(withoutGates))].filter(
    (text) =>
      (!text.startsWith("signal: ") && /km\/h|kilomet/i.test(text)) ||
      text.includes("\u202f") ||
      (!/^car: |radius/i.test(text) && /(?:[\d.]|\u00a0|, )\s?m(?![\w/\u00b2%])|\bmet(?:re|er)s\b/.test(text)),
  );
}
