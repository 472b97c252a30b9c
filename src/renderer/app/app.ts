/**
 * The frame around all pages: page names on the ground line, keys, notices, undo and the book's runs. Errors are shown in one place as one
 * line until read. During a launch only the Drive page's own keys work.
 */
import type { Bridge } from "../../shared/contract/contract.ts";
import { ONLY_SHOWS } from "../../shared/contract/reach.ts";
import { el, setText } from "../screen/dom.ts";
import { dayWord } from "../screen/format.ts";
import { sayHints } from "../screen/key-hints.ts";
import { type ActionName, createKeyMap, needsLaptop } from "../screen/key-map.ts";
import { overNetwork } from "../bridge/over-network.ts";
import type { Page } from "../screen/page.ts";
import { createWorkBar } from "../screen/work-bar.ts";
import { type ArmedBar, createArmedBar } from "./armed-bar.ts";
import { createCoreEvents } from "./core-events.ts";
import { createCurrentPage } from "./current-page.ts";
import { createFrame } from "./frame.ts";
import { createFreeze } from "./freeze.ts";
import { createHead } from "./head.ts";
import { listenToKeys } from "./key-presses.ts";
import { createNotices } from "./notices.ts";
import { createOwnCarOffer } from "./own-car-offer.ts";
import { oneAtATime } from "./one-at-a-time.ts";
import { createPages } from "./pages.ts";
import { createRenewal } from "./renewal.ts";
import { DIM_WORDS, nextScheme, readSettings, useSettings } from "./settings.ts";
import { showKeys } from "./settings-dialog.ts";

/** Said before anything is asked, since the host would refuse it afterwards. */
function mayDo(action: ActionName, fail: (error: unknown) => void): boolean {
  const may = !overNetwork() || !needsLaptop(action);
  if (!may) fail(new Error(ONLY_SHOWS));
  return may;
}

/** On Drive the page aborts, as it says what came of it. */
function abort(page: Page | null, event: KeyboardEvent, armed: ArmedBar): void {
  const act = page?.acts["drive.abort"];
  if (act === undefined) armed.abort();
  else act(event);
}

export async function startApp(bridge: Bridge): Promise<void> {
  const settings = readSettings();
  useSettings(settings);
  const keys = createKeyMap(settings.keys, settings.singleKeys);
  const notices = createNotices();
  const said = el("p", { class: "out-of-sight", "aria-live": "polite", role: "status" });
  const announce = (words: string) => setText(said, words);
  const onPage = () => current.now()?.undoSlot !== undefined;
  const { frame, book, edits } = createFrame({ bridge, keys, notices, announce, reload, onPage });
  const { feed, cues, fail } = frame;
  const offerOwnCar = createOwnCarOffer(bridge, notices, fail);
  const pages = [...createPages(frame)];
  const head = createHead(pages, notices.undoElement, keys, turnScheme, openKeys);
  const armed = createArmedBar(frame, (words) => notices.set("aborted", words));
  const current = createCurrentPage(pages, head, notices, armed);
  const renewPages = createRenewal(settings, pages, frame, current);
  const work = createWorkBar(bridge, fail, ["listening", "bitrate", "first-day", "closing", "gates", "lost"]);
  const freeze = createFreeze({ feed, keys, notices, announce });
  const changed = () => {
    for (const page of pages) page.changed();
  };

  const readAgain = oneAtATime(async () => {
    const view = await book.read();
    offerOwnCar(view);
    head.say(view.car, dayWord(view.runs.at(-1)?.day), view.simulated);
    changed();
  });

  async function reload(): Promise<void> {
    await readAgain();
  }

  const sayAndSound = () => {
    cues.on = settings.sound;
    cues.speech = settings.speech;
    head.scheme(settings.scheme);
  };

  function apply(changes: Partial<typeof settings> = {}): void {
    Object.assign(settings, changes);
    keys.turn(settings.singleKeys);
    settings.keys = keys.changed();
    useSettings(settings);
    renewPages();
    sayHints(keys);
    sayAndSound();
    changed();
  }

  function turnScheme(): void {
    apply({ scheme: nextScheme(settings.scheme) });
  }

  function turnDim(): void {
    if (settings.scheme === "night") settings.dim = (settings.dim + 1) % DIM_WORDS.length;
    apply();
    announce(settings.scheme === "night" ? `The screen is ${DIM_WORDS[settings.dim]}` : "The dimmer is for the night");
  }

  function openKeys(): void {
    const page = current.now();
    if (page !== null) void showKeys({ page, keys, settings, use: () => apply(), laptop: overNetwork() ? null : bridge });
  }

  const everywhere: Page["acts"] = {
    "everywhere.help": openKeys,
    "everywhere.cancel"(event) {
      const page = current.now();
      // On Drive, Esc means abort, whatever else is going on; elsewhere where something is armed.
      return page?.name === "drive" ? abort(page, event, armed) : armed.end() || page?.cancel?.() || work.cancel();
    },
    "everywhere.scheme": turnScheme,
    "everywhere.dim": turnDim,
    "everywhere.freeze": () => freeze(!feed.frozen()),
  };

  sayAndSound();
  document.body.append(armed.element, notices.element, head.element, current.element, work.element, said);
  if (!settings.cautionsRead) notices.cautions(() => apply({ cautionsRead: true }));
  bridge.onEvent(
    createCoreEvents({ feed, notices, work, armed, pages, page: current.now, freeze, announce, reload: () => void reload().catch(fail) }),
  );
  window.addEventListener("hashchange", current.show);
  listenToKeys({
    keys,
    feed,
    everywhere,
    page: current.now,
    may: (action) => mayDo(action, fail),
    abort: (event) => abort(current.now(), event, armed),
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
  // A first day begins with what is plugged in (Wiring), not with an empty list of runs.
  if (window.location.hash === "" && book.bookFile() !== "" && frame.runs().length === 0 && !frame.simulated()) frame.go("wiring");
  current.show();
}
