/** What a key does: while a launch runs, nothing but the abort; in a dialog, what the dialog says; else what the map gives it, unless what has the focus needs it. */
import type { LiveFeed } from "../live/live-feed.ts";
import type { KeyMap } from "../screen/key-map.ts";
import type { Page } from "../screen/page.ts";

export interface KeyPressesOptions {
  readonly keys: KeyMap;
  readonly feed: LiveFeed;
  /** What keys do on every page. */
  readonly everywhere: Page["acts"];
  page(): Page | null;
  abort(): void;
  undo(): unknown;
  redo(): unknown;
  /** To the page at a place, 0 the first; false where there is none. */
  goTo(place: number): boolean;
}

/** Whether the key belongs to what has the focus. `pointed`: a finger or the mouse put it there, and Tab has not moved it since. */
function isTheirs(event: KeyboardEvent, pointed: boolean): boolean {
  // A run was pressed, and then the Space that Play bears: that is the page's, and not the run's once more.
  if (pointed && event.key === " " && event.target instanceof HTMLButtonElement) return false;
  // A focused control keeps its own Space and Enter, except where Space is the page's main key.
  // A link has no use for Space: a click on a page's name must not keep the key that the page prints on its button.
  if (event.target instanceof HTMLAnchorElement) return event.key === "Enter";
  const control = event.target instanceof HTMLButtonElement || event.target instanceof HTMLInputElement;
  return control && (event.key === "Enter" || (event.key === " " && (event.target as HTMLElement).dataset.kind === undefined));
}

export function listenToKeys({ keys, feed, everywhere, page, abort, undo, redo, goTo }: KeyPressesOptions): void {
  let pointed = false;
  document.addEventListener("pointerdown", () => (pointed = true), true);

  /** With Ctrl or Alt; false where it does nothing. */
  function combined(event: KeyboardEvent, typing: boolean): boolean {
    const control = event.ctrlKey || event.metaKey;
    if (control && event.key.toLowerCase() === "z" && !typing) {
      void (event.shiftKey ? redo() : undo());
      return true;
    }
    // Browsers keep Ctrl with a digit for their own tabs; Alt reaches the page there.
    return (event.ctrlKey || event.altKey) && goTo(Number(event.key) - 1);
  }

  function single(current: Page, event: KeyboardEvent, typing: boolean): void {
    if (typing && event.key.length === 1) return;
    const general = keys.everywhere(event.key);
    const action = general ?? keys.action(current.name, event.key);
    const act = action === null ? undefined : (general === null ? current.acts : everywhere)[action];
    if (action === null || act === undefined) return;
    if (general === null && (typing || isTheirs(event, pointed) || current.takes?.(action, event) === false)) return;
    event.preventDefault();
    act(event);
  }

  window.addEventListener("keydown", (event) => {
    if (event.key === "Tab") pointed = false;
    const current = page();
    if (current === null || event.defaultPrevented) return;
    const launching = feed.fresh(performance.now())?.state === "launched";
    if (document.querySelector("dialog[open]") !== null) {
      // On any other page a dialog may stand open while the car launches: the same Esc closes it.
      if (launching && event.key === "Escape") abort();
      return;
    }
    if (launching && (current.name === "drive" || event.key === "Escape")) {
      event.preventDefault();
      if (event.key === "Escape") abort();
      return;
    }
    const typing = event.target instanceof HTMLInputElement && event.target.type === "text";
    if (!event.ctrlKey && !event.metaKey && !event.altKey) single(current, event, typing);
    else if (combined(event, typing)) event.preventDefault();
  });
}
