/** Dialogs that close with an answer, and the one of the frame: a question with one line of text. Closing answers nothing. */
import { LABEL_LETTERS } from "../../shared/contract/letters.ts";
import { el, setText } from "./dom.ts";

export interface Question {
  readonly title: string;
  readonly field: string;
  readonly value: string;
  readonly button: string;
  /** Answers that one press gives, with the key that gives the same without asking. */
  readonly choices?: readonly { readonly text: string; readonly key: string }[];
  /** Said, with the dialog kept open, when nothing was written; without it nothing is an answer too. */
  readonly needed?: string;
  /** Letters that are kept (contract); a label's where absent. */
  readonly most?: number;
}

/** Closes whatever is open, unanswered. */
export function closeDialogs(): void {
  for (const dialog of document.querySelectorAll<HTMLDialogElement>("dialog[open]")) dialog.close("");
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

const CHOSEN = "chosen:";

/** The text, trimmed by nobody; null when closed. */
export async function askText({
  title,
  field,
  value,
  button,
  choices = [],
  needed,
  most = LABEL_LETTERS,
}: Question): Promise<string | null> {
  const input = el("input", { type: "text", maxlength: most, autocomplete: "off" });
  input.value = value;
  const full = el("p", { class: "small", role: "status" });
  const lacks = needed === undefined ? [] : [el("div", { class: "bar reason", hidden: true, role: "alert" }, el("p", {}, needed))];
  // No submit buttons: Enter in the field would press the first of them.
  const chosen = choices.map(({ text, key }) => {
    const made = el("button", { type: "button" }, el("span", {}, text), el("kbd", {}, key));
    made.addEventListener("click", () => dialog.close(`${CHOSEN}${text}`));
    return made;
  });
  const form = el(
    "form",
    { method: "dialog" },
    el("h2", { class: "lead" }, title),
    ...(chosen.length === 0 ? [] : [el("div", { class: "choices" }, ...chosen)]),
    el("label", {}, field, input),
    full,
    ...lacks,
    el("div", { class: "buttons" }, submit(button, "yes", true), submit("Close", "", false)),
  );
  form.addEventListener("submit", (event) => {
    const empty = event.submitter?.getAttribute("value") === "yes" && input.value.trim() === "";
    for (const bar of lacks) bar.hidden = !empty;
    if (!empty || needed === undefined) return;
    event.preventDefault();
    input.focus();
  });
  input.addEventListener("input", () => {
    for (const bar of lacks) bar.hidden = true;
    // The field takes no further letter, and would not say why.
    setText(full, input.value.length < most ? "" : `${most} letters are the most that is kept.`);
  });
  // What is typed first is the answer that no button gives.
  input.autofocus = true;
  const dialog = el("dialog", { "aria-label": title }, form);
  const answer = await openDialog(dialog);
  if (answer.startsWith(CHOSEN)) return answer.slice(CHOSEN.length);
  return answer === "yes" ? input.value : null;
}
