/** Inverse bars for errors, the cautions until they are read, and the undo bar. A notice stays until its key is cleared or it is closed. */
import { TRIANGLE } from "../screen/icons.ts";
import { el, glyph, setText } from "../screen/dom.ts";

export interface Notices {
  readonly element: HTMLElement;
  readonly undoElement: HTMLElement;
  has(key: string): boolean;
  /** null clears the key. */
  set(key: string, text: string | null): void;
  /** What was done or undone, with undo or redo; null removes the bar. */
  undo(done: string | null, onUndo: () => void, undone?: boolean): void;
  cautions(onRead: () => void): void;
  /** Shows an offer; null removes it. */
  offer(words: string | null, button: string, onTake: () => void): void;
}

function bar(text: string, button: string, onClose: () => void, ...more: Node[]): HTMLElement {
  const close = el("button", { type: "button" }, button);
  const element = el("div", { class: "bar" }, glyph(TRIANGLE, true), el("p", {}, text, ...more), close);
  close.addEventListener("click", onClose);
  return element;
}

export function createNotices(): Notices {
  const element = el("div", { role: "region", "aria-label": "Notices" });
  const undoElement = el("div", { class: "undo-bar", hidden: true });
  const bars = new Map<string, HTMLElement>();
  const remove = (key: string) => {
    bars.get(key)?.remove();
    bars.delete(key);
  };
  const put = (key: string, made: HTMLElement) => {
    remove(key);
    made.dataset.key = key;
    bars.set(key, made);
    element.append(made);
  };
  return {
    element,
    undoElement,
    set(key, text) {
      const line = bars.get(key)?.querySelector("p");
      if (text === null) remove(key);
      // The same notice with newer words stays where it is, and its button keeps the focus.
      else if (line) setText(line, text);
      else
        put(
          key,
          bar(text, "Close", () => remove(key)),
        );
    },
    has: (key) => bars.has(key),
    undo(done, onUndo, undone = false) {
      undoElement.hidden = done === null;
      if (done === null) return;
      const undo = undone
        ? el("button", { type: "button", title: "Ctrl+Shift+Z" }, "Redo")
        : el("button", { type: "button", title: "Ctrl+Z" }, "Undo", el("kbd", {}, "Ctrl+Z"));
      undo.addEventListener("click", onUndo);
      undoElement.replaceChildren(el("span", { title: done }, done), undo);
    },
    offer(words, button, onTake) {
      if (words === null) return remove("offer");
      const take = el("button", { type: "button" }, button);
      const close = el("button", { type: "button" }, "Close");
      const made = el("div", { class: "offer" }, el("p", {}, words), take, close);
      take.addEventListener("click", () => {
        remove("offer");
        onTake();
      });
      close.addEventListener("click", () => remove("offer"));
      put("offer", made);
    },
    cautions(onRead) {
      const more = el("a", { href: "#before" }, "All cautions");
      const text =
        "Launches only on a closed course or private ground with permission. Local law comes first. The driver never reads this screen; the passenger may abort at any time. ";
      const read = () => {
        remove("cautions");
        onRead();
      };
      const made = bar(text, "I have read this", read, more);
      put("cautions", made);
    },
  };
}
