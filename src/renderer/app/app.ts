/**
 * The frame: page names on the ground line, keys, notices, undo and the book's runs. Errors stand in one place as one line
 * until read; while a launch runs, nothing but the Drive page's own keys acts.
 */
import type { Bridge } from "../../shared/contract/contract.ts";
import { el } from "../screen/dom.ts";
import { day } from "../screen/format.ts";
import { sayHints } from "../screen/key-hints.ts";
import { createKeyMap } from "../screen/key-map.ts";
import type { Page } from "../screen/page.ts";
import { createWorkBar } from "../screen/work-bar.ts";
import { createCoreEvents } from "./core-events.ts";
import { createCurrentPage } from "./current-page.ts";
import { createFrame } from "./frame.ts";
import { createFreeze } from "./freeze.ts";
import { createHead } from "./head.ts";
import { listenToKeys } from "./key-presses.ts";
import { createNotices } from "./notices.ts";
import { createOwnCarOffer } from "./own-car-offer.ts";
import { createPages } from "./pages.ts";
import { nextScheme, readSettings, useSettings } from "./settings.ts";
import { showKeys } from "./settings-dialog.ts";

export async function startApp(bridge: Bridge): Promise<void> {
  const settings = readSettings();
  useSettings(settings);
  const keys = createKeyMap(settings.keys, settings.singleKeys);
  const notices = createNotices();
  const said = el("p", { class: "out-of-sight", "aria-live": "polite", role: "status" });
  const announce = (words: string) => {
    said.textContent = words;
  };
  const onPage = () => current.now()?.undoSlot !== undefined;
  const { frame, book, edits } = createFrame({ bridge, keys, notices, announce, reload, onPage });
  const { feed, cues, fail } = frame;
  const offerOwnCar = createOwnCarOffer(bridge, notices, fail);
  const pages = createPages(frame);
  const head = createHead(pages, notices.undoElement, keys, turnScheme, openKeys);
  const current = createCurrentPage(pages, head, notices);
  const work = createWorkBar(bridge, fail, ["listening", "bitrate", "first-day", "closing", "gates"]);
  const freeze = createFreeze({ feed, keys, notices, announce });
  const changed = () => {
    for (const page of pages) page.changed();
  };

  async function reload(): Promise<void> {
    const view = await book.read();
    offerOwnCar(view);
    head.say(view.car, day(view.runs.at(-1)?.startedAt ?? null), view.simulated);
    changed();
  }

  const sayAndSound = () => {
    cues.on = settings.sound;
    cues.speech = settings.speech;
    head.scheme(settings.scheme);
  };

  function apply(): void {
    keys.turn(settings.singleKeys);
    settings.keys = keys.changed();
    useSettings(settings);
    sayHints(keys);
    sayAndSound();
    changed();
  }

  function turnScheme(): void {
    settings.scheme = nextScheme(settings.scheme);
    apply();
  }

  function openKeys(): void {
    const page = current.now();
    if (page !== null) void showKeys(page, keys, settings, apply);
  }

  const everywhere: Page["acts"] = {
    "everywhere.help": openKeys,
    "everywhere.cancel"(event) {
      const page = current.now();
      const abort = page?.acts["drive.abort"];
      // On Drive it is the abort, whatever else is going on.
      return abort === undefined ? page?.cancel?.() || work.cancel() : abort(event);
    },
    "everywhere.scheme": turnScheme,
    "everywhere.freeze": () => freeze(!feed.frozen()),
  };

  sayAndSound();
  document.body.append(notices.element, head.element, current.element, work.element, said);
  if (!settings.cautionsRead) {
    notices.cautions(() => {
      settings.cautionsRead = true;
      apply();
    });
  }
  const again = () => void reload().catch(fail);
  bridge.onEvent(createCoreEvents({ feed, notices, work, pages, page: current.now, freeze, announce, reload: again }));
  window.addEventListener("hashchange", current.show);
  listenToKeys({
    keys,
    feed,
    everywhere,
    page: current.now,
    abort: () => void bridge.request("drive.abort", {}).catch(fail),
    undo: edits.undo,
    redo: edits.redo,
    goTo(place) {
      const page = pages[place];
      if (page !== undefined) frame.go(page.name);
      return page !== undefined;
    },
  });
  window.addEventListener("resize", changed);
  await reload().catch(fail);
  // A first day begins with what is plugged in, not with an empty list of runs.
  if (window.location.hash === "" && book.bookFile() !== "" && frame.runs().length === 0 && !frame.simulated()) frame.go("wiring");
  current.show();
}
