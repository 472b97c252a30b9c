/** Makes elements from plain values. Text goes in as text nodes only: no markup is ever parsed. */

type Child = Node | string;
type Attributes = Readonly<Record<string, string | number | boolean | undefined>>;

function apply(element: Element, attributes: Attributes): void {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === undefined) continue;
    element.setAttribute(name, value === true ? "" : String(value));
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
  element.append(...children);
  return element;
}

/** A small drawing of 40 by 40 units from path data; decoration, so hidden from readers. */
export function glyph(path: string, filled = false, box = "0 0 40 40"): SVGSVGElement {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  apply(svg, { viewBox: box, "aria-hidden": "true", focusable: "false" });
  const shape = document.createElementNS(space, "path");
  apply(shape, filled ? { d: path, fill: "currentColor" } : { d: path, fill: "none", stroke: "currentColor", "stroke-width": 5 });
  svg.append(shape);
  return svg;
}

/** Sets text only when it changes, so that readers and layout are left alone. */
export function setText(element: Element, text: string): void {
  if (element.textContent !== text) element.textContent = text;
}

/** Puts other content into `parent`; the button that had the focus there gives it to the one that takes its place. */
export function replaceContent(parent: HTMLElement, content: readonly Node[]): void {
  const buttons = () => [...parent.querySelectorAll("button")];
  const focused = document.activeElement;
  const at = focused instanceof HTMLButtonElement ? buttons().indexOf(focused) : -1;
  parent.replaceChildren(...content);
  buttons()[at]?.focus();
}
