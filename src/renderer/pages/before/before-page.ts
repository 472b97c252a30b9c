/** Before driving: what the tool checked by itself, and what only the two people can confirm. Confirmations hold for this sitting. */
import type { CoreEvent, LiveEvent } from "../../../shared/contract/contract.ts";
import { el, glyph, setText } from "../../app/dom.ts";
import type { Frame, Page } from "../../app/page.ts";
import { CAUTIONS } from "./cautions.ts";

const TICK = "M4 22 L15 33 L36 6";
const RING = "M20 6 A14 14 0 1 0 20.1 6";
const TRIANGLE = "M20 3 L38 36 H2 Z";

interface Check {
  readonly name: string;
  readonly words: string;
  readonly state: "ticked" | "waiting" | "wrong";
}

function checks(frame: Frame, live: LiveEvent | null): Check[] {
  const source = (name: string, health: LiveEvent["gnss"] | undefined): Check => ({
    name,
    words: health?.words ?? "unknown",
    state: health?.state === "fresh" ? "ticked" : health?.state === "wrong" || health?.state === "absent" ? "wrong" : "waiting",
  });
  return [
    source("Receiver talks", live?.gnss),
    source("Bus talks", live?.can),
    {
      name: "Book is open",
      words: frame.bookFile() === "" ? "unknown" : frame.bookFile(),
      state: frame.bookFile() === "" ? "waiting" : "ticked",
    },
    { name: "Only listening", words: "Nothing is ever sent on the car\u2019s bus or to the receiver", state: "ticked" },
  ];
}

const spoken: Readonly<Record<Check["state"], string>> = { ticked: "checked", waiting: "waiting", wrong: "wrong" };

function checkRow(check: Check): HTMLElement {
  const mark = check.state === "ticked" ? glyph(TICK) : check.state === "wrong" ? glyph(TRIANGLE, true) : glyph(RING);
  return el(
    "li",
    { class: `check ${check.state}` },
    mark,
    el("span", { class: "name" }, check.name, el("span", { class: "out-of-sight" }, `: ${spoken[check.state]}`)),
    el("span", { class: "quiet" }, check.words),
  );
}

/** A hint, never by itself: no browser tells how bright it is without asking. */
const inSun = () => document.documentElement.dataset.scheme === "sun";

const count = (n: number) => ["None", "One", "Two", "Three", "Four", "Five", "Six", "Seven"][n] ?? String(n);

export function createBeforePage(frame: Frame): Page {
  const sentence = el("h1");
  const second = el("p", { class: "lead" });
  const list = el("ul", { class: "checks" });
  const confirmed = new Set<string>();
  let said = "";
  const boxes = CAUTIONS.map((caution) => {
    const box = el("input", { type: "checkbox" });
    box.addEventListener("change", () => {
      if (box.checked) confirmed.add(caution.key);
      else confirmed.delete(caution.key);
      render();
    });
    return el("li", {}, el("label", { class: "row" }, box, caution.text));
  });
  const drive = el("button", { type: "button", class: "solid" }, "Go to Drive", el("kbd", {}, "Enter"));
  drive.addEventListener("click", () => frame.go("drive"));

  function render(): void {
    const rows = checks(frame, frame.feed.fresh(performance.now()));
    const open = rows.filter((row) => row.state !== "ticked").length;
    const yours = CAUTIONS.length - confirmed.size;
    setText(
      sentence,
      open + yours === 0
        ? "All ticked."
        : open === 0
          ? `${count(yours)} left, ${yours === 1 ? "it is" : "all"} yours.`
          : `${count(open + yours)} left, ${open === 1 ? "one is" : `${open} are`} the tool\u2019s.`,
    );
    setText(
      second,
      frame.simulated()
        ? "The car is simulated: nothing moves. With a real car each line below counts."
        : `A tick on the left the tool has seen; a tick on the right is your word.${inSun() ? "" : ` In sunlight ${frame.keys.shown("everywhere.scheme") || "the button above"} brings the sun scheme: black on white.`}`,
    );
    const now = JSON.stringify(rows);
    if (now === said) return;
    said = now;
    list.replaceChildren(...rows.map(checkRow));
  }

  return {
    name: "before",
    title: "Before driving",
    element: el(
      "div",
      { class: "page before" },
      el("div", { class: "before-head" }, sentence, drive),
      second,
      el(
        "div",
        { class: "lists" },
        el("section", {}, el("h2", {}, "The tool checked"), list),
        el("section", {}, el("h2", {}, "You confirm"), el("ul", { class: "confirm" }, ...boxes)),
      ),
    ),
    acts: { "before.drive": () => frame.go("drive") },
    shown: render,
    hidden: () => undefined,
    onEvent(event: CoreEvent) {
      if (event.event === "live") render();
    },
    changed: render,
  };
}
