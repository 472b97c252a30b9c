/** Which page is shown: the one that the address names, Runs where it names none. The page before loses the focus and is hidden. */
import { el } from "../screen/dom.ts";
import type { Page } from "../screen/page.ts";
import type { PageName } from "../screen/page-name.ts";
import type { ArmedBar } from "./armed-bar.ts";
import type { Head } from "./head.ts";
import type { Notices } from "./notices.ts";

export interface CurrentPage {
  readonly element: HTMLElement;
  /** null until the first one is shown. */
  now(): Page | null;
  /** Shows the page that the address names. */
  show(): void;
  /** The pages were made anew. */
  renew(pages: readonly Page[]): void;
}

/** The page that the address names. */
function named(pages: readonly Page[]): Page | undefined {
  const name = window.location.hash.slice(1);
  const fallback: PageName = "runs";
  return pages.find((page) => page.name === name) ?? pages.find((page) => page.name === fallback);
}

/** A button of the page before must not keep the Space key that arms on this page. */
function leave(page: Page): void {
  page.hidden();
  const focused = document.activeElement;
  if (focused instanceof HTMLElement && page.element.contains(focused)) focused.blur();
  page.element.hidden = true;
}

export function createCurrentPage(first: readonly Page[], head: Head, notices: Notices, armed: ArmedBar): CurrentPage {
  let current: Page | null = null;
  let pages = first;
  const element = el("main", { tabindex: -1 });
  const put = () => {
    for (const page of pages) page.element.hidden = true;
    element.replaceChildren(...pages.map((page) => page.element));
  };
  put();
  return {
    element,
    now: () => current,
    renew(next) {
      if (current !== null) leave(current);
      current = null;
      pages = next;
      put();
    },
    show() {
      const wanted = named(pages);
      if (wanted === undefined || wanted === current) return;
      if (current !== null) leave(current);
      current = wanted;
      wanted.element.hidden = false;
      // The passenger's view fills the whole screen; the frame returns with Leave.
      head.element.hidden = wanted.name === "drive";
      document.body.dataset.page = wanted.name;
      // Edits undone on other pages are not shown on the passenger's view.
      if (wanted.undoSlot === undefined) head.takeUndo();
      else {
        notices.undo(null, () => undefined);
        wanted.undoSlot.append(notices.undoElement);
      }
      head.current(wanted.name);
      armed.onPage(wanted.name);
      document.title = `${wanted.title} \u2013 Gripbook`;
      window.scrollTo(0, 0);
      wanted.shown();
    },
  };
}
