/** Dialogs that close with an answer, and the one of the frame: a question with one line of text. Closing answers nothing. */
import { el } from "./dom.ts";

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
