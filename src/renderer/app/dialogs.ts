/** Dialogs that close with an answer, and the one of the frame: a question with one line of text. Closing answers nothing. */
import { el } from "./dom.ts";

export interface Question {
  readonly title: string;
  readonly field: string;
  readonly value: string;
  readonly button: string;
  /** What is said, with the dialog still open, where nothing was typed; absent: nothing is an answer too. */
  readonly needed?: string;
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
export async function askText({ title, field, value, button, needed }: Question): Promise<string | null> {
  const input = el("input", { type: "text", maxlength: 200, autocomplete: "off" });
  input.value = value;
  const reason = el("p", { class: "refused", role: "alert", hidden: true }, needed ?? "");
  const form = el(
    "form",
    { method: "dialog" },
    el("h2", { class: "lead" }, title),
    el("label", {}, field, input),
    reason,
    el("div", { class: "buttons" }, submit(button, "yes", true), submit("Close", "", false)),
  );
  form.addEventListener("submit", (event) => {
    if (needed === undefined || (event.submitter as HTMLButtonElement | null)?.value !== "yes" || input.value.trim() !== "") return;
    event.preventDefault();
    reason.hidden = false;
    input.focus();
  });
  input.addEventListener("input", () => {
    reason.hidden = true;
  });
  const dialog = el("dialog", { "aria-label": title }, form);
  input.focus();
  const answer = await openDialog(dialog);
  return answer === "yes" ? input.value : null;
}
