/** Dialogs that close with an answer, and the frame's own: a question with one line of text. Closing gives no answer. */
import { LABEL_LETTERS } from "../../shared/contract/letters.ts";
import { el, setText, showOver } from "./dom.ts";

export interface Question {
  readonly title: string;
  readonly field: string;
  readonly value: string;
  readonly button: string;
  /** Answers given by one press. No key is shown on them: in this dialog keys type. */
  readonly choices?: readonly string[];
  /** Shown when nothing was written, and the dialog stays open; without it, an empty text is an answer too. */
  readonly needed?: string;
  /** The greatest number of letters (contract); a label's where absent. */
  readonly most?: number;
  /** Called with the text as typed, when the dialog was closed by no person. */
  onCutOff?(typed: string): void;
}

const CUT_OFF = "cut off";

/** Closes all open dialogs of this kind without an answer; all of them where none is named. */
export function closeDialogs(kind = ""): void {
  for (const dialog of document.querySelectorAll<HTMLDialogElement>(`dialog${kind}[open]`)) dialog.close(CUT_OFF);
}

/** Shows a dialog until it closes; the answer is the value of the button that closed it, empty for Esc. */
export function openDialog(dialog: HTMLDialogElement): Promise<string> {
  showOver(dialog);
  // What is typed takes the place of the old text, and is not put behind it.
  if (document.activeElement instanceof HTMLInputElement) document.activeElement.select();
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

/** What was typed into a question that was closed without an answer, by its title: it is offered when the same is asked again. */
const leftUnsaid = new Map<string, string>();

/** Puts back what was typed before; nothing where all was answered. */
function typedBefore(title: string, input: HTMLInputElement): HTMLElement[] {
  const text = leftUnsaid.get(title);
  if (text === undefined) return [];
  const again = el("button", { type: "button", class: "typed-before" }, el("span", {}, `As typed before: ${text}`));
  again.addEventListener("click", () => {
    input.value = text;
    input.focus();
  });
  return [again];
}

/** The text as typed, not trimmed; null when closed. */
export async function askText({
  title,
  field,
  value,
  button,
  choices = [],
  needed,
  most = LABEL_LETTERS,
  onCutOff,
}: Question): Promise<string | null> {
  const input = el("input", { type: "text", maxlength: most, autocomplete: "off" });
  input.value = value;
  const full = el("p", { class: "small", role: "status" });
  const lacks = needed === undefined ? [] : [el("div", { class: "bar reason", hidden: true, role: "alert" }, el("p", {}, needed))];
  // Not submit buttons: Enter in the field would press the first of them.
  const chosen = choices.map((text) => {
    const made = el("button", { type: "button" }, el("span", {}, text));
    made.addEventListener("click", () => dialog.close(`${CHOSEN}${text}`));
    return made;
  });
  const offered = [...typedBefore(title, input), ...chosen];
  const form = el(
    "form",
    { method: "dialog" },
    el("h2", { class: "lead" }, title),
    ...(offered.length === 0 ? [] : [el("div", { class: "choices" }, ...offered)]),
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
    // The field accepts no further letter and would not say why.
    setText(full, input.value.length < most ? "" : `${most} letters are the most that is kept.`);
  });
  // The text field gets the focus: it is for the answer that no button gives.
  input.autofocus = true;
  const dialog = el("dialog", { "aria-label": title }, form);
  const answer = await openDialog(dialog);
  if (answer === CUT_OFF) onCutOff?.(input.value);
  if (answer !== "" || input.value.trim() === "" || input.value === value) leftUnsaid.delete(title);
  else leftUnsaid.set(title, input.value);
  if (answer.startsWith(CHOSEN)) return answer.slice(CHOSEN.length);
  return answer === "yes" ? input.value : null;
}
