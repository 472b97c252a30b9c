/**
 * Settings for units, sound, this screen's keys, the size of this screen, and the page on the local network. A key that is already used is
 * refused in words; Esc cannot be changed. The handbook is opened from here.
 */
import { wordsOf } from "../../shared/kernel/words-of.ts";
import { ALL_UNITS, unitsNamed } from "../../shared/kernel/shown-units.ts";
import { openDialog, submit } from "../screen/dialogs.ts";
import { el, setText } from "../screen/dom.ts";
import type { KeyMap, KeyRow } from "../screen/key-map.ts";
import type { Page } from "../screen/page.ts";
import { saveFile } from "../screen/save-file.ts";
import type { Bridge } from "../../shared/contract/contract.ts";
import { openHandbook } from "./handbook-dialog.ts";
import { createNetworkSection } from "./network-section.ts";
import { createSigns } from "./signs.ts";
import { DIM_WORDS, PX_PER_MM, type Settings } from "./settings.ts";

/** The short side of a bank card (ISO/IEC 7810 ID-1): the long side would not fit in this dialog on a fine screen or a phone. */
const CARD_MM = 53.98;
const HAPPENED =
  "When something went wrong: a plain text about this machine, the log, and the book\u2019s holes, flags and set-up. Keys, labels and notes are left out.";
const MODIFIERS = new Set(["Shift", "Control", "Alt", "Meta", "AltGraph", "CapsLock", "Dead"]);
const HANDBOOK = "handbook";
const STANDING = "Press a button, then its new key. Esc always aborts, cancels and closes: it cannot be changed.";

/** The table of keys; `use` is called after every change. */
function keyTable(page: Page, keys: KeyMap, use: () => void): HTMLElement[] {
  const said = el("p", { class: "small", role: "status" }, STANDING);
  const body = el("tbody");
  const cells = new Map<HTMLButtonElement, KeyRow>();

  function listen(button: HTMLButtonElement, row: KeyRow): void {
    const stop = () => {
      button.removeEventListener("keydown", onKey);
      button.removeEventListener("blur", stop);
      button.removeAttribute("aria-pressed");
      show();
    };
    const onKey = (event: KeyboardEvent) => {
      if (MODIFIERS.has(event.key)) return;
      // Tab moves on as usual; every other key is the answer.
      if (event.key === "Tab") return;
      event.preventDefault();
      event.stopPropagation();
      if (event.key === "Escape") {
        setText(said, STANDING);
        return stop();
      }
      const refused = keys.set(row.action, event.key);
      setText(said, refused === null ? `${row.meaning}: now ${shownOf(row)}` : `${refused}.`);
      if (refused !== null) return;
      use();
      stop();
    };
    setText(button, "press a key");
    setText(said, `${row.meaning}: press its new key; Esc keeps the old one.`);
    button.setAttribute("aria-pressed", "true");
    button.addEventListener("keydown", onKey);
    button.addEventListener("blur", stop);
  }

  const shownOf = ({ action }: KeyRow) => keys.rows(page.name).find((row) => row.action === action)?.shown ?? "";
  const show = () => {
    for (const [button, row] of cells) {
      setText(button, shownOf(row));
      button.setAttribute("aria-label", `${shownOf(row)}: ${row.meaning}. Change this key`);
    }
  };

  for (const row of keys.rows(page.name)) {
    const cell = el("td");
    if (row.fixed) cell.append(row.shown);
    else {
      const button = el("button", { type: "button" });
      button.addEventListener("click", () => button.getAttribute("aria-pressed") === null && listen(button, row));
      cells.set(button, row);
      cell.append(button);
    }
    body.append(el("tr", {}, cell, el("th", { scope: "row" }, row.meaning)));
  }
  show();
  const reset = el("button", { type: "button" }, "Reset all keys");
  reset.addEventListener("click", () => {
    keys.reset();
    use();
    show();
    setText(said, "All keys are reset.");
  });
  const table = el("table", { class: "key-table" }, el("caption", { class: "out-of-sight" }, "Key and what it does"), body);
  return [said, table, el("div", { class: "buttons" }, reset)];
}

function sizeOfScreen(settings: Settings, use: () => void): HTMLElement[] {
  const card = el("div", { class: "card-edge", "aria-hidden": "true" });
  const size = el("input", {
    type: "range",
    min: PX_PER_MM.least,
    max: PX_PER_MM.most,
    step: 0.05,
    value: settings.pxPerMm,
    "aria-label": "Width of the bar, to match the short side of a bank card",
  });
  const widen = () => {
    card.style.width = `${CARD_MM * settings.pxPerMm}px`;
  };
  size.addEventListener("input", () => {
    settings.pxPerMm = Number(size.value);
    widen();
    use();
  });
  widen();
  return [el("p", {}, "Lay the short side of a bank card on the bar and make the bar as wide: then text has its true size."), card, size];
}

/** How bright the night is. */
function dimmer(settings: Settings, use: () => void): HTMLElement {
  const choice = el("select", {}, ...DIM_WORDS.map((word, at) => el("option", { value: at }, word)));
  choice.value = String(settings.dim);
  choice.addEventListener("change", () => {
    settings.dim = Number(choice.value);
    use();
  });
  return el("label", { class: "row" }, "At night the screen is", choice);
}

/** What speeds and lengths are shown in, on every page, in saved files and on paper. */
function unitsOfScreen(settings: Settings, use: () => void): HTMLElement {
  const choice = el("select", {}, ...ALL_UNITS.map(({ name, words }) => el("option", { value: name }, words)));
  choice.value = settings.units;
  choice.addEventListener("change", () => {
    settings.units = unitsNamed(choice.value)?.name ?? settings.units;
    use();
  });
  return el("label", { class: "row" }, "Speeds and lengths in", choice);
}

/** The text for somebody who looks for a fault. */
function whatHappened(bridge: Bridge): HTMLElement[] {
  const positions = el("input", { type: "checkbox" });
  const said = el("p", { class: "small", role: "status" }, HAPPENED);
  const save = el("button", { type: "button" }, "Save what happened");
  save.addEventListener("click", async () => {
    save.disabled = true;
    setText(said, "Gathering\u2026");
    try {
      const { text } = await bridge.request("happened.read", { withPositions: positions.checked });
      saveFile("what-happened.txt", new Blob([text], { type: "text/plain;charset=utf-8" }));
      setText(said, `Saved, ${positions.checked ? "with positions" : "without positions"}. Read it before you hand it over.`);
    } catch (error) {
      setText(said, wordsOf(error));
    } finally {
      save.disabled = false;
    }
  });
  return [said, el("label", { class: "row" }, positions, "With positions: where the car was"), el("div", { class: "buttons" }, save)];
}

export interface KeysDialog {
  readonly page: Page;
  readonly keys: KeyMap;
  readonly settings: Settings;
  readonly use: () => void;
  /** Null on a screen that is reached over the local network, which has neither the switch for it nor what happened. */
  readonly laptop: Bridge | null;
}

/** Shows the keys; lets people change them, the sound and the size of this screen; calls `use` after every change. */
export async function showKeys({ page, keys, settings, use, laptop }: KeysDialog): Promise<void> {
  const handbook = el("button", { type: "submit", value: HANDBOOK }, "Handbook", el("kbd", {}, "F1"));
  const check = (text: string, name: "sound" | "speech" | "singleKeys") => {
    const box = el("input", { type: "checkbox", checked: settings[name] });
    box.addEventListener("change", () => {
      settings[name] = box.checked;
      use();
    });
    return el("label", { class: "row" }, box, text);
  };
  const signs = createSigns();
  const network = laptop === null ? null : createNetworkSection(laptop);
  const dialog = el(
    "dialog",
    { "aria-label": `Keys: ${page.title}`, class: "keys" },
    el(
      "form",
      { method: "dialog" },
      el("div", { class: "keys-head" }, el("h2", { class: "lead" }, "Sound, keys, size"), handbook, submit("Close", "", true)),
      check("Sounds", "sound"),
      check("Say ready, gate times, done and aborted aloud", "speech"),
      check("Single keys act (Esc always does)", "singleKeys"),
      unitsOfScreen(settings, use),
      dimmer(settings, use),
      el("h2", { class: "lead" }, `Keys: ${page.title}`),
      ...(page.gestures === undefined ? [] : [el("p", {}, page.gestures)]),
      ...keyTable(page, keys, use),
      el("h2", { class: "lead" }, "Signs"),
      signs.element,
      el("h2", { class: "lead" }, "Size"),
      ...sizeOfScreen(settings, use),
      ...(network === null ? [] : [el("h2", { class: "lead" }, "On the local network"), ...network.elements]),
      ...(laptop === null ? [] : [el("h2", { class: "lead" }, "What happened"), ...whatHappened(laptop)]),
    ),
  );
  dialog.addEventListener("keydown", (event) => {
    if (event.key !== "F1") return;
    event.preventDefault();
    dialog.close(HANDBOOK);
  });
  const open = openDialog(dialog);
  signs.paint();
  const answer = await open;
  network?.end();
  if (answer === HANDBOOK) await openHandbook(page.name);
}
