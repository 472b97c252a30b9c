/**
 * Before driving: what Gripbook checked by itself, each item green or overruled with a note, and what only the two people can confirm.
 * Confirmations are valid for this session; notes are stored with every run. A list that cannot be read says why in the frame.
 */
import type { BeforeRow, CoreEvent } from "../../../shared/contract/contract.ts";
import { NOTE_LETTERS } from "../../../shared/contract/letters.ts";
import { el, setText } from "../../screen/dom.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { beforeSentence } from "./before-words.ts";
import { checkRow, standing } from "./check-row.ts";
import { createConfirmations } from "./confirmations.ts";

/** The core repeats its slow checks at most every 5 s. */
const READ_MS = 2000;

/** Only a hint: no browser tells how bright it is without asking the person. */
const inSun = () => document.documentElement.dataset.scheme === "sun";

function lead(frame: Frame): string {
  if (frame.simulated()) return "The car is simulated: nothing moves. With a real car each line below counts.";
  const sun = `In sunlight ${frame.keys.shown("everywhere.scheme") || "the button above"} brings the sun scheme: black on white.`;
  return `Fix what Gripbook could not confirm, or overrule it with a note that every run keeps; a tick on the right is your word.${inSun() ? "" : ` ${sun}`}`;
}

export function createBeforePage(frame: Frame): Page {
  let rows: readonly BeforeRow[] | null = null;
  let reading: ReturnType<typeof setInterval> | null = null;
  let said = "";
  const sentence = el("h1");
  const second = el("p", { class: "lead" });
  const list = el("ul", { class: "checks" });
  const confirmations = createConfirmations(() => render());
  const drive = el("button", { type: "button", class: "solid" }, "Go to Drive", el("kbd", {}, "Enter"));
  drive.addEventListener("click", () => frame.go("drive"));

  function render(): void {
    setText(sentence, beforeSentence(rows, confirmations.left()));
    setText(second, lead(frame));
    const now = JSON.stringify([rows, frame.bookFile()]);
    if (now === said) return;
    said = now;
    const focused = document.activeElement instanceof HTMLElement ? (document.activeElement.dataset.key ?? null) : null;
    const acts = { fixed: () => take(frame.bridge.request("before.antenna", { fixed: true })), overrule };
    list.replaceChildren(...(rows ?? []).map((row) => checkRow(row, acts)), ...standing(frame.bookFile()));
    if (focused !== null) focusAfter(focused);
  }

  /** The pressed button may be gone: then the row's next button gets the focus, or the first box that is not ticked. */
  function focusAfter(pressed: string): void {
    const [check = ""] = pressed.split(" ");
    const next = list.querySelector<HTMLElement>(`[data-key="${pressed}"]`) ?? list.querySelector<HTMLElement>(`[data-key^="${check} "]`);
    (next ?? confirmations.firstLeft() ?? drive).focus();
  }

  const take = (request: Promise<readonly BeforeRow[]>) =>
    request
      .then((answered) => {
        rows = answered;
        render();
      })
      .catch(frame.fail);
  const read = () => take(frame.bridge.request("before.read", {}));

  async function overrule({ key, name, overruled }: BeforeRow): Promise<void> {
    if (overruled !== null) return take(frame.bridge.request("before.overrule", { key, note: null }));
    const note = await frame.ask({
      title: `Drive in spite of: ${name}`,
      field: "Why (kept with every run)",
      value: "",
      button: "Overrule",
      needed: "Write why you drive all the same.",
      most: NOTE_LETTERS,
    });
    if (note !== null) await take(frame.bridge.request("before.overrule", { key, note }));
  }

  const yours = el("h2", {}, "You confirm", el("span", { class: "quiet" }, ", for this session: a reload asks again"));
  return {
    name: "before",
    title: "Before driving",
    element: el(
      "div",
      { class: "page before" },
      el("div", { class: "before-head" }, sentence, drive),
      second,
      el(
        "div",
        { class: "lists" },
        el("section", {}, el("h2", {}, "Gripbook checked"), list),
        el("section", {}, yours, confirmations.element),
      ),
    ),
    acts: { "before.drive": () => frame.go("drive") },
    shown() {
      render();
      void read();
      reading ??= setInterval(() => void read(), READ_MS);
    },
    hidden() {
      if (reading !== null) clearInterval(reading);
      reading = null;
    },
    onEvent(event: CoreEvent) {
      // A source that comes or goes changes the list at once.
      if (event.event === "notice" && reading !== null) void read();
    },
    changed: render,
  };
}
