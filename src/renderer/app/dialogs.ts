/** The two dialogs of the frame: one question with one line of text, and this screen's keys with the choices that belong to it. Closing answers nothing. */
import { el } from "./dom.ts";
import type { Page } from "./page.ts";
import type { Settings } from "./settings.ts";

export interface Question {
  readonly title: string;
  readonly field: string;
  readonly value: string;
  readonly button: string;
}

/** Shows a dialog until it closes; answers the value of the button that closed it, empty for Esc. */
export function openDialog(dialog: HTMLDialogElement): Promise<string> {
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue);
    });
  });
}

export const submit = (text: string, value: string, solid: boolean) =>
  el("button", { type: "submit", value, class: solid ? "solid" : "" }, text);

/** The text, trimmed by nobody; null when closed. */
export async function askText({ title, field, value, button }: Question): Promise<string | null> {
  const input = el("input", { type: "text", maxlength: 200, autocomplete: "off" });
  input.value = value;
  const dialog = el(
    "dialog",
    { "aria-label": title },
    el(
      "form",
      { method: "dialog" },
      el("h2", { class: "lead" }, title),
      el("label", {}, field, input),
      el("div", { class: "buttons" }, submit(button, "yes", true), submit("Close", "", false)),
    ),
  );
  input.focus();
  const answer = await openDialog(dialog);
  return answer === "yes" ? input.value : null;
}

/** A bank card is 85.60 mm wide (ISO/IEC 7810 ID-1). */
const CARD_MM = 85.6;
const KEYS_EVERYWHERE: readonly (readonly [string, string])[] = [
  ["F1", "keys of this screen"],
  ["Ctrl+1 to Ctrl+8", "pages; Alt instead of Ctrl where the browser takes it"],
  ["T", "night, day, sun"],
  ["Z", "freeze what is live, but never a launch"],
  ["Ctrl+Z, Ctrl+Shift+Z", "undo, redo"],
];

/** Shows the keys and lets sound, single keys and the size of this screen be set; calls `use` with every change. */
export async function showKeys(page: Page, settings: Settings, use: () => void): Promise<void> {
  const rows = [...page.keys, ...KEYS_EVERYWHERE].flatMap(([key, meaning]) => [el("dt", {}, key), el("dd", {}, meaning)]);
  const check = (text: string, name: "sound" | "singleKeys") => {
    const box = el("input", { type: "checkbox", checked: settings[name] });
    box.addEventListener("change", () => {
      settings[name] = box.checked;
      use();
    });
    return el("label", { class: "row" }, box, text);
  };
  const card = el("div", { class: "card-edge", "aria-hidden": "true" });
  const size = el("input", {
    type: "range",
    min: 2.5,
    max: 12,
    step: 0.05,
    value: settings.pxPerMm,
    "aria-label": "Width of the bar, to match a bank card",
  });
  const widen = () => {
    card.style.width = `${CARD_MM * settings.pxPerMm}px`;
  };
  size.addEventListener("input", () => {
    settings.pxPerMm = Number(size.value);
    widen();
    use();
  });
  widen();
  await openDialog(
    el(
      "dialog",
      { "aria-label": `Keys: ${page.title}`, class: "keys" },
      el(
        "form",
        { method: "dialog" },
        el("h2", { class: "lead" }, `Keys: ${page.title}`),
        el("dl", {}, ...rows),
        check("Single keys act (Esc always does)", "singleKeys"),
        check("Sounds", "sound"),
        el("p", {}, "Lay a bank card on the screen and make the bar as wide: then text has its true size."),
        card,
        size,
        el("div", { class: "buttons" }, submit("Close", "", true)),
      ),
    ),
  );
}
