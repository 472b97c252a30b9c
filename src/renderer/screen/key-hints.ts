/**
 * The keys shown on buttons: they follow the key map, and are hidden while single keys are off. A button whose action needs the laptop is not
 * there on a screen that is reached over the local network (only-shows.css).
 */
import { el } from "./dom.ts";
import { type ActionName, type KeyMap, needsLaptop } from "./key-map.ts";

/** A button's key; `with_` is shown before it ("Shift+"). */
export function hint(keys: KeyMap, action: ActionName, with_ = ""): HTMLElement {
  const element = el("kbd", { "data-action": action, "data-with": with_, "data-at-laptop": needsLaptop(action) });
  say(element, keys);
  return element;
}

function say(element: HTMLElement, keys: KeyMap): void {
  const key = keys.shown(element.dataset.action as ActionName);
  const text = key === "" ? "" : `${element.dataset.with ?? ""}${key}`;
  if (element.textContent !== text) element.textContent = text;
}

/** After a change of the map: updates every key shown on a screen. */
export function sayHints(keys: KeyMap): void {
  for (const element of document.querySelectorAll<HTMLElement>("kbd[data-action]")) say(element, keys);
}

/** A button with its word and its key. */
export function keyButton(keys: KeyMap, word: string, action: ActionName, act: () => unknown): HTMLButtonElement {
  const made = el("button", { type: "button" }, el("span", {}, word), hint(keys, action));
  made.addEventListener("click", () => void act());
  return made;
}
