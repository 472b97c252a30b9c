/** Which page stands there: the one that the address names, Runs where it names none. The page before loses the focus and is hidden. */
import { el } from "../screen/dom.ts";
import type { Page } from "../screen/page.ts";
import type { PageName } from "../screen/page-name.ts";
import type { Head } from "./head.ts";
import type { Notices } from "./notices.ts";

export interface CurrentPage {
  readonly element: HTMLElement;
  /** null until the first one is shown. */
  now(): Page | null;
  /** Shows the page that the address names. */
  show(): void;
}

/** The page that the address names. */
function named(pages: readonly Page[]): Page | undefined {
  const name = window.location.hash.slice(1);
  const fallback: PageName = "runs";
  return pages.find((page) => page.name === name) ?? pages.find((page) => page.name === fallback);
}

/** A button of the page before must not keep the Space that arms on this one. */
function leave(page: Page): void {
  page.hidden();
  const focused = document.activeElement;
  if (focused instanceof HTMLElement && page.element.contains(focused)) focused.blur();
  page.element.hidden = true;
}

export function createCurrentPage(pages: readonly Page[], head: Head, notices: Notices): CurrentPage {
  let current: Page | null = null;
  const element = el("main", { tabindex: -1 });
  for (const page of pages) {
    page.element.hidden = true;
    element.append(page.element);
  }
  return {
    element,
    now: () => current,
    show() {
      const wanted = named(pages);
      if (wanted === undefined || wanted === current) return;
      if (current !== null) leave(current);
      current = wanted;
      wanted.element.hidden = false;
      // The passenger's view takes the whole screen; the frame comes back with Leave.
      head.element.hidden = wanted.name === "drive";
      document.body.dataset.page = wanted.name;
      // What was undone elsewhere is no news on the passenger's view.
      if (wanted.undoSlot === undefined) head.takeUndo();
      else {
        notices.undo(null, () => undefined);
        wanted.undoSlot.append(notices.undoElement);
      }
      head.current(wanted.name);
      document.title = `${wanted.title} \u2013 Gripbook`;
      wanted.shown();
    },
  };
}
