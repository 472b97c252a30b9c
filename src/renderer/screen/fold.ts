/**
 * Warnings about a figure, folded so that the figure keeps its place: their number, the first of them, and all of them by one key. Without
 * warnings it takes no room.
 */
import { el, setText } from "./dom.ts";
import { hint } from "./key-hints.ts";
import type { ActionName, KeyMap } from "./key-map.ts";
import { said } from "./units.ts";

export interface Fold {
  readonly element: HTMLElement;
  show(lines: readonly string[]): void;
  turn(): void;
}

/** `noun`: "warning"; the plural takes an s. */
export function createFold(keys: KeyMap, action: ActionName, noun: string): Fold {
  const list = el("ul", { class: "notes warnings" });
  const word = el("span");
  const button = el("button", { type: "button" }, word, hint(keys, action));
  const element = el("div", { class: "fold", hidden: true }, list, button);
  let open = false;
  let many: readonly string[] = [];

  function render(): void {
    element.hidden = many.length === 0;
    // A single one is shown whole: there is nothing to unfold.
    button.hidden = many.length < 2;
    const folded = !open && many.length > 1;
    element.classList.toggle("folded", folded);
    button.setAttribute("aria-expanded", String(!folded));
    setText(word, folded ? `All ${many.length} ${noun}s` : "First only");
    const shown = folded ? many.slice(0, 1) : many;
    const now = [...list.children].map((item) => item.textContent);
    if (now.join("\n") !== shown.map(said).join("\n")) list.replaceChildren(...shown.map((line) => el("li", { title: line }, line)));
  }
  const fold: Fold = {
    element,
    show(lines) {
      many = lines;
      render();
    },
    turn() {
      open = !open;
      render();
    },
  };
  button.addEventListener("click", fold.turn);
  return fold;
}
