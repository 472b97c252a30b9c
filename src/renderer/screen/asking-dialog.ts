/**
 * A dialog whose answer may take a while or be refused: it stays open with the reason until the answer is accepted or the dialog closed.
 */
import { TRIANGLE } from "./icons.ts";
import type { Bridge } from "../../shared/contract/contract.ts";
import { CANCELLED } from "../../shared/contract/contract-error.ts";
import { createWorkBar } from "./work-bar.ts";
import { el, glyph, setText, showOver } from "./dom.ts";
import { wordsOf } from "../../shared/kernel/words-of.ts";

export interface AskedDialog {
  readonly title: string;
  readonly content: readonly (Node | string)[];
  readonly button: string;
  /** Further buttons, after the main one. */
  readonly more?: readonly HTMLButtonElement[];
  /** Does the work. Words keep the dialog open and are shown; null closes it. */
  readonly act: () => Promise<string | null>;
  readonly closed?: () => void;
  /** Reports the progress of long work, and cancels it. */
  readonly bridge: Bridge;
}

export interface OpenDialog {
  /** Shows a reason; null removes it. */
  say(words: string | null): void;
  run(act: () => Promise<string | null>, busy: string): void;
  close(): void;
}

export function openAsking({ title, content, button, more = [], act, closed, bridge }: AskedDialog, busy: string): OpenDialog {
  const reason = el("p");
  const bar = el("div", { class: "bar reason", hidden: true, role: "alert" }, glyph(TRIANGLE, true), reason);
  const progress = el("p", { class: "quiet", role: "status" });
  const work = createWorkBar(bridge, (error) => api.say(wordsOf(error)), ["ports", "listening", "bitrate", "closing", "gates"]);
  const stop = bridge.onEvent((event) => event.event === "work" && work.on(event));
  const main = el("button", { type: "submit", class: "solid" }, button, el("kbd", {}, "Enter"));
  const close = el("button", { type: "button" }, "Close", el("kbd", {}, "Esc"));
  const form = el(
    "form",
    { method: "dialog" },
    el("h2", { class: "lead" }, title),
    ...content,
    bar,
    progress,
    work.element,
    el("div", { class: "buttons" }, main, ...more, close),
  );
  const dialog = el("dialog", { "aria-label": title, class: "asks" }, form);
  let running = false;

  const api: OpenDialog = {
    say(words) {
      bar.hidden = words === null;
      setText(reason, words ?? "");
    },
    run(work, words) {
      if (running) return;
      running = true;
      api.say(null);
      setText(progress, words);
      let said = "";
      void work()
        .then(
          (refused) => (refused === null ? dialog.close() : api.say(refused)),
          (error: unknown) => {
            const why = wordsOf(error);
            if (why === CANCELLED) said = CANCELLED;
            else api.say(why);
          },
        )
        .finally(() => {
          running = false;
          setText(progress, said);
        });
    },
    close: () => dialog.close(),
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    api.run(act, busy);
  });
  // A reason is about the last answer; what is being typed now has not been tried yet.
  form.addEventListener("input", () => {
    if (!running) api.say(null);
  });
  close.addEventListener("click", () => dialog.close());
  // The first Esc cancels running work and keeps the dialog; the next one closes it.
  dialog.addEventListener("cancel", (event) => {
    if (running && work.cancel()) event.preventDefault();
  });
  dialog.addEventListener("close", () => {
    dialog.remove();
    stop();
    closed?.();
  });
  showOver(dialog);
  return api;
}
