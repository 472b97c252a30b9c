/**
 * The progress of long work: a rod growing between two posts, what is being done and how much of it, and Cancel. How much may be unknown;
 * then only words show that it continues.
 */
import { el, setText } from "./dom.ts";

interface Work {
  readonly words: string;
  /** 0 to 1; null where unknown. */
  readonly share: number | null;
  readonly cancellable: boolean;
}

export interface WorkRod {
  readonly element: HTMLElement;
  /** null: over. */
  show(work: Work | null): void;
}

export function createWorkRod(onCancel: () => void): WorkRod {
  const words = el("p", { role: "status" });
  const rod = el("progress", { max: 1 });
  const cancel = el("button", { type: "button" }, "Cancel", el("kbd", {}, "Esc"));
  const element = el("section", { class: "work", "aria-label": "Under way", hidden: true }, words, rod, cancel);
  cancel.addEventListener("click", onCancel);
  return {
    element,
    show(work) {
      // A button that disappears loses the focus: it goes back to the page.
      if (work === null && element.contains(document.activeElement)) (document.activeElement as HTMLElement).blur();
      element.hidden = work === null;
      if (work === null) return;
      cancel.setAttribute("aria-disabled", String(!work.cancellable));
      setText(words, work.words);
      rod.setAttribute("aria-label", work.words);
      if (work.share === null) rod.removeAttribute("value");
      else rod.value = work.share;
    },
  };
}
