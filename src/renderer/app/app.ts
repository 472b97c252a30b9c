/**
 * The frame: page names on the ground line, keys, notices, undo and the book's runs. Errors stand in one place as one line
 * until read; while a launch runs, nothing but the Drive page's own keys acts.
 */
import { CANCELLED } from "../../shared/contract/contract-error.ts";
import type { BookView, Bridge, CoreEvent, Edited, RequestName, RunRow } from "../../shared/contract/contract.ts";
import { createLiveFeed } from "../live/live-feed.ts";
import { createCues } from "../sound/cues.ts";
import { askText, closeDialogs } from "../screen/dialogs.ts";
import { el } from "../screen/dom.ts";
import { day } from "../screen/format.ts";
import { createHead } from "./head.ts";
import { createPages } from "./pages.ts";
import { sayHints } from "../screen/key-hints.ts";
import { createKeyMap } from "../screen/key-map.ts";
import { createHistory } from "./history.ts";
import { createNotices } from "./notices.ts";
import type { Frame, Page } from "../screen/page.ts";
import type { PageName } from "../screen/page-name.ts";
import { nextScheme, readSettings, useSettings } from "./settings.ts";
import { showKeys } from "./settings-dialog.ts";
import { createWorkBar } from "../screen/work-bar.ts";

const PAGE_NAMES: readonly string[] = ["car", "wiring", "before", "drive", "runs", "compare", "lost", "plan", "report"];
const isPage = (text: string): text is PageName => PAGE_NAMES.includes(text);

export async function startApp(bridge: Bridge): Promise<void> {
  const settings = readSettings();
  useSettings(settings);
  const keys = createKeyMap(settings.keys, settings.singleKeys);
  const feed = createLiveFeed();
  const cues = createCues();
  cues.on = settings.sound;
  cues.speech = settings.speech;
  const live = el("p", { class: "out-of-sight", "aria-live": "polite", role: "status" });
  const announce = (words: string) => {
    live.textContent = words;
  };
  const notices = createNotices();
  let runs: readonly RunRow[] = [];
  let book: Omit<BookView, "runs"> = { car: "", bookFile: "", simulated: false };
  let offered = false;
  let current: Page | null = null;

  const reload = async () => {
    const view = await bridge.request("book.open", {});
    runs = view.runs;
    book = view;
    const last = view.lastCar ?? null;
    if (last === null) notices.offer(null, "", () => undefined);
    else if (!offered) {
      offered = true;
      const whose = last.car === "" ? "Your own car" : `Your own car, ${last.car},`;
      notices.offer(
        `${whose} is set up in ${last.setUpFile}.`,
        "Use my own car",
        () => void bridge.request("wiring.own", {}).catch(frame.fail),
      );
    }
    head.say(view.car, day(runs.at(-1)?.startedAt ?? null), view.simulated);
    for (const page of pages) page.changed();
  };

  const history = createHistory({
    request: async (way) => (await bridge.request(way.name as RequestName, way.argument as never)) as Edited,
    async after(done, undone) {
      await reload();
      // An edit of another page may be what was taken back: it is named, and has its way forward.
      const words = undone ? `Undone: ${done}` : done;
      // The passenger's view has room for one button there: what may be pressed next, not the way forward.
      notices.undo(current?.undoSlot === undefined ? words : null, () => void (undone ? redo() : takeBack()), undone);
      announce(undone ? words : `Done again: ${done}`);
    },
  });
  const takeBack = () => history.undo().catch(frame.fail);
  const redo = () => history.redo().catch(frame.fail);

  const frame: Frame = {
    bridge,
    feed,
    cues,
    keys,
    compared: { asked: {} },
    proposed: { test: null },
    runs: () => runs,
    car: () => book.car,
    simulated: () => book.simulated,
    bookFile: () => book.bookFile,
    go: (name) => {
      window.location.hash = name;
    },
    announce,
    fail(error) {
      const words = error instanceof Error ? error.message : String(error);
      // What a person cancelled is no fault.
      if (words === CANCELLED) announce(words);
      else notices.set("request", words);
    },
    async edit(done, request, fit) {
      try {
        const way = (await request).undo;
        history.did({ done, way, ...(fit === undefined ? {} : { fit }) });
        await reload();
        announce(done);
        notices.undo(done, () => void takeBack());
      } catch (error) {
        frame.fail(error);
      }
    },
    ask: (question) => askText(question),
  };

  const pages = createPages(frame);
  const head = createHead(
    pages,
    notices.undoElement,
    keys,
    () => turnScheme(),
    () => openKeys(),
  );
  const work = createWorkBar(bridge, frame.fail, ["listening", "bitrate", "first-day", "closing", "gates"]);
  const main = el("main", { tabindex: -1 });
  for (const page of pages) {
    page.element.hidden = true;
    main.append(page.element);
  }

  function apply(): void {
    keys.turn(settings.singleKeys);
    settings.keys = keys.changed();
    useSettings(settings);
    cues.on = settings.sound;
    cues.speech = settings.speech;
    sayHints(keys);
    head.scheme(settings.scheme);
    for (const page of pages) page.changed();
  }

  function show(): void {
    const name = window.location.hash.slice(1);
    const wanted = pages.find((page) => page.name === (isPage(name) ? name : "runs"));
    if (wanted === undefined || wanted === current) return;
    current?.hidden();
    // A button of the page before must not keep the Space that arms here.
    const focused = document.activeElement;
    if (focused instanceof HTMLElement && current?.element.contains(focused)) focused.blur();
    if (current !== null) current.element.hidden = true;
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
  }

  function onEvent(event: CoreEvent): void {
    if (event.event === "live") {
      // A question left open would stand before the launch, and take the Esc that is to abort it.
      if (event.state === "launched" && current?.name === "drive") closeDialogs();
      feed.push(event, performance.now());
      if (feed.frozen()) return;
      if (notices.has("freeze")) freeze(false);
    }
    if (event.event === "work") work.on(event);
    if (event.event === "notice") {
      // Progress in a standing notice is not news each time.
      if (event.text !== null && !notices.has(event.key)) announce(event.text);
      notices.set(event.key, event.text);
    }
    // After a lost link or a restarted process the book may hold more than we know.
    const maybeMore =
      (event.event === "notice" && (event.key === "link" || event.key === "core") && event.text === null) ||
      (event.event === "work" && event.work === "first-day" && event.words === null);
    if (event.event === "runStored" || maybeMore) reload().catch(frame.fail);
    for (const page of pages) page.onEvent(event);
  }

  const freeze = (on: boolean) => {
    feed.freeze(on);
    const key = keys.shown("everywhere.freeze");
    const until = [...(key === "" ? [] : [key]), "a change of state, or a launch"].join(", ");
    const words = feed.frozen() ? `Frozen: what is live stands still until ${until}` : null;
    notices.set("freeze", words);
    announce(words ?? "Live again");
  };

  const turnScheme = () => {
    settings.scheme = nextScheme(settings.scheme);
    apply();
  };

  const openKeys = () => current !== null && void showKeys(current, keys, settings, apply);

  const frameActs: Page["acts"] = {
    "everywhere.help": () => openKeys(),
    // On Drive it is the abort, whatever else is going on.
    "everywhere.cancel": (event) =>
      current?.acts["drive.abort"] === undefined ? current?.cancel?.() || work.cancel() : current.acts["drive.abort"](event),
    "everywhere.scheme": turnScheme,
    "everywhere.freeze": () => freeze(!feed.frozen()),
  };

  /** What a combination with Ctrl or Alt does; null when nothing. */
  function combined(event: KeyboardEvent, typing: boolean): (() => unknown) | null {
    const control = event.ctrlKey || event.metaKey;
    if (control && event.key.toLowerCase() === "z" && !typing) return event.shiftKey ? redo : takeBack;
    // Browsers keep Ctrl with a digit for their own tabs; Alt reaches the page there.
    const page = event.ctrlKey || event.altKey ? pages[Number(event.key) - 1] : undefined;
    return page === undefined ? null : () => frame.go(page.name);
  }

  /** The focus is where a finger or the mouse put it, and Tab has not moved it since. */
  let pointed = false;
  document.addEventListener("pointerdown", () => (pointed = true), true);

  /** Whether the key belongs to what has the focus. */
  function isTheirs(event: KeyboardEvent): boolean {
    // A run was pressed, and then the Space that Play bears: that is the page's, and not the run's once more.
    if (pointed && event.key === " " && event.target instanceof HTMLButtonElement) return false;
    // A focused control keeps its own Space and Enter, except where Space is the page's main key.
    // A link has no use for Space: a click on a page's name must not keep the key that the page prints on its button.
    if (event.target instanceof HTMLAnchorElement) return event.key === "Enter";
    const control = event.target instanceof HTMLButtonElement || event.target instanceof HTMLInputElement;
    return control && (event.key === "Enter" || (event.key === " " && (event.target as HTMLElement).dataset.kind === undefined));
  }

  function onKey(event: KeyboardEvent): void {
    if (event.key === "Tab") pointed = false;
    if (current === null || event.defaultPrevented) return;
    const launching = feed.fresh(performance.now())?.state === "launched";
    if (document.querySelector("dialog[open]") !== null) {
      // On any other page a dialog may stand open while the car launches: the same Esc closes it.
      if (launching && event.key === "Escape") bridge.request("drive.abort", {}).catch(frame.fail);
      return;
    }
    if (launching && (current.name === "drive" || event.key === "Escape")) {
      event.preventDefault();
      if (event.key === "Escape") bridge.request("drive.abort", {}).catch(frame.fail);
      return;
    }
    const typing = event.target instanceof HTMLInputElement && event.target.type === "text";
    const { ctrlKey, metaKey, altKey } = event;
    if (ctrlKey || metaKey || altKey) {
      const act = combined(event, typing);
      if (act !== null) event.preventDefault();
      act?.();
      return;
    }
    if (typing && event.key.length === 1) return;
    const everywhere = keys.everywhere(event.key);
    const action = everywhere ?? keys.action(current.name, event.key);
    const act = action === null ? undefined : (everywhere === null ? current.acts : frameActs)[action];
    if (action === null || act === undefined) return;
    if (everywhere === null && (typing || isTheirs(event) || current.takes?.(action, event) === false)) return;
    event.preventDefault();
    act(event);
  }

  document.body.append(notices.element, head.element, main, work.element, live);
  head.scheme(settings.scheme);
  if (!settings.cautionsRead) {
    notices.cautions(() => {
      settings.cautionsRead = true;
      apply();
    });
  }
  bridge.onEvent(onEvent);
  window.addEventListener("hashchange", show);
  window.addEventListener("keydown", onKey);
  window.addEventListener("resize", () => {
    for (const page of pages) page.changed();
  });
  await reload().catch(frame.fail);
  // A first day begins with what is plugged in, not with an empty list of runs.
  if (window.location.hash === "" && book.bookFile !== "" && runs.length === 0 && !book.simulated) frame.go("wiring");
  show();
}
