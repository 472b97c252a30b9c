/** Sound, this screen's keys, each to be given another, and the size of this screen. A key that is taken is refused in words; Esc stays what it is. */
import { openDialog, submit } from "../screen/dialogs.ts";
import { el, setText } from "../screen/dom.ts";
import type { KeyMap, KeyRow } from "../screen/key-map.ts";
import type { Page } from "../screen/page.ts";
import { PX_PER_MM, type Settings } from "./settings.ts";

/** The short side of a bank card (ISO/IEC 7810 ID-1): the long one would not stand in this dialog on a fine screen, nor on a phone. */
const CARD_MM = 53.98;
const MODIFIERS = new Set(["Shift", "Control", "Alt", "Meta", "AltGraph", "CapsLock", "Dead"]);
const STANDING = "Press a key\u2019s button, then the key that it is to be. Esc always aborts, cancels and closes: it cannot be changed.";

/** The table of keys; `use` is called with every change. */
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
      // Tab leaves as ever; every other key is an answer.
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
    setText(said, `${row.meaning}: press the key that it is to be; Esc leaves it.`);
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
  const reset = el("button", { type: "button" }, "All keys as at first");
  reset.addEventListener("click", () => {
    keys.reset();
    use();
    show();
    setText(said, "Every key of every screen is what it was at first.");
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

/** Shows the keys and lets them, sound and the size of this screen be set; calls `use` with every change. */
export async function showKeys(page: Page, keys: KeyMap, settings: Settings, use: () => void): Promise<void> {
  const check = (text: string, name: "sound" | "speech" | "singleKeys") => {
    const box = el("input", { type: "checkbox", checked: settings[name] });
    box.addEventListener("change", () => {
      settings[name] = box.checked;
      use();
    });
    return el("label", { class: "row" }, box, text);
  };
  await openDialog(
    el(
      "dialog",
      { "aria-label": `Keys: ${page.title}`, class: "keys" },
      el(
        "form",
        { method: "dialog" },
        el("div", { class: "keys-head" }, el("h2", { class: "lead" }, "Sound, keys, size"), submit("Close", "", true)),
        check("Sounds", "sound"),
        check("Say ready, gate times, done and aborted aloud", "speech"),
        check("Single keys act (Esc always does)", "singleKeys"),
        el("h2", { class: "lead" }, `Keys: ${page.title}`),
        ...(page.gestures === undefined ? [] : [el("p", {}, page.gestures)]),
        ...keyTable(page, keys, use),
        el("h2", { class: "lead" }, "Size"),
        ...sizeOfScreen(settings, use),
      ),
    ),
  );
}
