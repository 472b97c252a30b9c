/** Passes the core's events on: live values to the feed, long work to its bar, notices to their place, and everything to the pages. */
import type { CoreEvent, LiveEvent } from "../../shared/contract/contract.ts";
import type { LiveFeed } from "../live/live-feed.ts";
import { closeDialogs } from "../screen/dialogs.ts";
import type { Page } from "../screen/page.ts";
import type { WorkBar } from "../screen/work-bar.ts";
import type { ArmedBar } from "./armed-bar.ts";
import type { Notices } from "./notices.ts";

export interface CoreEventsOptions {
  readonly feed: LiveFeed;
  readonly notices: Notices;
  readonly work: WorkBar;
  readonly armed: ArmedBar;
  readonly pages: readonly Page[];
  page(): Page | null;
  freeze(on: boolean): void;
  announce(words: string): void;
  /** The book may have more runs than are known here. */
  reload(): void;
}

/**
 * A run was stored. Or a lost connection, a restarted process or a first day is over, and the book may have more runs than are known here.
 */
const mayBeMore = (event: CoreEvent) =>
  event.event === "runStored" ||
  (event.event === "notice" && (event.key === "link" || event.key === "core") && event.text === null) ||
  (event.event === "work" && event.work === "first-day" && event.words === null);

export function createCoreEvents(options: CoreEventsOptions): (event: CoreEvent) => void {
  const { feed, notices, work, armed, pages, page, freeze, announce, reload } = options;

  /** False while the display is frozen. */
  function takeLive(event: LiveEvent): boolean {
    // An open question would hide the launch and take the Esc that should abort it. The handbook covers the abort of every page.
    if (event.state === "launched") closeDialogs(page()?.name === "drive" ? "" : ".handbook");
    armed.on(event);
    feed.push(event, performance.now());
    if (feed.frozen()) return false;
    if (notices.has("freeze")) freeze(false);
    return true;
  }

  return (event) => {
    if (event.event === "live" && !takeLive(event)) return;
    if (event.event === "work") work.on(event);
    if (event.event === "notice") {
      // Progress inside an existing notice is not announced each time.
      if (event.text !== null && !notices.has(event.key)) announce(event.text);
      notices.set(event.key, event.text);
      if (event.text !== null && (event.key === "link" || event.key === "core")) armed.lost();
    }
    if (mayBeMore(event)) reload();
    for (const each of pages) each.onEvent(event);
  };
}
