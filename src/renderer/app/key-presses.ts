/**
 * What a key does: during a launch only the abort; in a dialog, what the dialog says; otherwise what the key map says, unless the focused
 * element needs the key.
 */
import type { LaunchState } from "../../shared/contract/contract.ts";
import type { LiveFeed } from "../live/live-feed.ts";
import type { ActionName, KeyMap } from "../screen/key-map.ts";
import type { Page } from "../screen/page.ts";
import type { PageName } from "../screen/page-name.ts";

export interface KeyPressesOptions {
  readonly keys: KeyMap;
  readonly feed: LiveFeed;
  /** Keys that work on every page. */
  readonly everywhere: Page["acts"];
  page(): Page | null;
  /** False where this screen may not do it; says so. */
  may(action: ActionName): boolean;
  abort(event: KeyboardEvent): void;
  undo(): unknown;
  redo(): unknown;
  /** Goes to the page at this place, 0 is the first; false where there is none. */
  goTo(place: number): boolean;
}

/** Whether the focused element needs this key. `pointed`: it got the focus by finger or mouse, and Tab was not pressed since. */
function isTheirs(event: KeyboardEvent, pointed: boolean): boolean {
  // After a click on a run, Space means Play, as its button says; it does not press the run again.
  if (pointed && event.key === " " && event.target instanceof HTMLButtonElement) return false;
  // A focused control keeps its own Space and Enter, except where Space is the page's main key. A link does not need Space: a click on a
  // page's name must not take the key that the page shows on its button.
  if (event.target instanceof HTMLAnchorElement) return event.key === "Enter";
  // A box to tick has no use for Enter: after the last tick it is the page's key.
  if (event.target instanceof HTMLInputElement && event.target.type === "checkbox") return event.key === " ";
  const control = event.target instanceof HTMLButtonElement || event.target instanceof HTMLInputElement;
  return control && (event.key === "Enter" || (event.key === " " && (event.target as HTMLElement).dataset.kind === undefined));
}

/**
 * One Esc aborts: on Drive whatever is armed, on another page a launch. An unknown state may be either. `state` null: nothing arrives.
 */
export function abortsUnderDialog(page: PageName, state: LaunchState | null): boolean {
  if (state === "launched") return true;
  return page === "drive" && state !== "idle" && state !== "aborted";
}

export function listenToKeys({ keys, feed, everywhere, page, may, abort, undo, redo, goTo }: KeyPressesOptions): void {
  let pointed = false;
  document.addEventListener("pointerdown", () => (pointed = true), true);

  /** Keys with Ctrl or Alt; false where the key does nothing. */
  function combined(event: KeyboardEvent, typing: boolean): boolean {
    const control = event.ctrlKey || event.metaKey;
    if (control && event.key.toLowerCase() === "z" && !typing) {
      void (event.shiftKey ? redo() : undo());
      return true;
    }
    // Browsers use Ctrl with a digit for their own tabs; Alt with the digit goes to the page there.
    return (event.ctrlKey || event.altKey) && goTo(Number(event.key) - 1);
  }

  function single(current: Page, event: KeyboardEvent, typing: boolean): void {
    if (typing && event.key.length === 1) return;
    // Esc leaves the field, so that the page's keys act again; where something is armed it aborts (everywhere.cancel).
    if (typing && event.key === "Escape") (event.target as HTMLElement).blur();
    const general = keys.everywhere(event.key);
    const action = general ?? keys.action(current.name, event.key);
    const act = action === null ? undefined : (general === null ? current.acts : everywhere)[action];
    if (action === null || act === undefined) return;
    if (general === null && (typing || isTheirs(event, pointed) || current.takes?.(action, event) === false)) return;
    event.preventDefault();
    if (may(action)) act(event);
  }

  window.addEventListener("keydown", (event) => {
    if (event.key === "Tab") pointed = false;
    const current = page();
    if (current === null || event.defaultPrevented) return;
    const live = feed.fresh(performance.now());
    const launching = live?.state === "launched";
    if (document.querySelector("dialog[open]") !== null) {
      // The same Esc closes the dialog.
      if (event.key === "Escape" && abortsUnderDialog(current.name, live?.state ?? null)) abort(event);
      return;
    }
    if (launching && (current.name === "drive" || event.key === "Escape")) {
      event.preventDefault();
      if (event.key === "Escape") abort(event);
      return;
    }
    const typing = event.target instanceof HTMLInputElement && event.target.type === "text";
    if (!event.ctrlKey && !event.metaKey && !event.altKey) single(current, event, typing);
    else if (combined(event, typing)) event.preventDefault();
  });
}
