/**
 * Makes elements from plain values. Text becomes text nodes only: no markup is ever parsed. The core's sentences get this screen's units
 * here.
 */
import { said } from "./units.ts";

type Child = Node | string;
type Attributes = Readonly<Record<string, string | number | boolean | undefined>>;

function apply(element: Element, attributes: Attributes): void {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === undefined) continue;
    element.setAttribute(name, value === true ? "" : said(String(value)));
  }
}

/** An element with attributes and children; `false` and `undefined` leave an attribute out. */
export function el<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  apply(element, attributes);
  element.append(...children.map((child) => (typeof child === "string" ? said(child) : child)));
  return element;
}

/** A small drawing of 40 by 40 units from path data; decoration, so hidden from screen readers. */
export function glyph(path: string, filled = false, box = "0 0 40 40"): SVGSVGElement {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  apply(svg, { viewBox: box, "aria-hidden": "true", focusable: "false" });
  const shape = document.createElementNS(space, "path");
  apply(shape, filled ? { d: path, fill: "currentColor" } : { d: path, fill: "none", stroke: "currentColor", "stroke-width": 5 });
  svg.append(shape);
  return svg;
}

/** Sets text only when it changes, so that screen readers and layout are not disturbed. */
export function setText(element: Element, text: string): void {
  const shown = said(text);
  if (element.textContent !== shown) element.textContent = shown;
}

/** The button that took another's place, so that a dialog which was opened by the old one finds its way back. */
const inPlaceOf = new WeakMap<Element, HTMLButtonElement>();

/** Replaces the content of `parent`. If a button in it had the focus, the button in the same place gets it; a dialog closed later too. */
export function replaceContent(parent: HTMLElement, content: readonly Node[]): void {
  const buttons = () => [...parent.querySelectorAll("button")];
  const before = buttons();
  const focused = document.activeElement;
  const at = focused instanceof HTMLButtonElement ? before.indexOf(focused) : -1;
  parent.replaceChildren(...content);
  const after = buttons();
  for (const [i, old] of before.entries()) if (after[i] !== undefined && after[i] !== old) inPlaceOf.set(old, after[i]);
  after[at]?.focus();
}

/** Shows a dialog over the page. When it closes, the focus goes back to where it was, also where that was drawn anew meanwhile. */
export function showOver(dialog: HTMLDialogElement): void {
  let opener = document.activeElement;
  dialog.addEventListener("close", () => {
    if (opener === null || opener.isConnected) return;
    while (opener !== null && !opener.isConnected) opener = inPlaceOf.get(opener) ?? null;
    const focused = document.activeElement;
    // A browser may leave the focus in the closed dialog until it draws next.
    if (opener instanceof HTMLElement && (focused === document.body || dialog.contains(focused))) opener.focus();
  });
  document.body.append(dialog);
  dialog.showModal();
}
