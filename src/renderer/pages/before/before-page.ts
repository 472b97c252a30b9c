/**
 * Before driving: what the tool checked by itself, green or driven in spite of with a note, and what only the two people can confirm.
 * Confirmations hold for this sitting; notes go with every run. A list that cannot be read says why in the frame's place.
 */
import type { BeforeRow, CoreEvent } from "../../../shared/contract/contract.ts";
import { el, glyph, setText } from "../../screen/dom.ts";
import { NOTE_LETTERS } from "../../../shared/contract/letters.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { CAUTIONS } from "./cautions.ts";

const TICK = "M4 22 L15 33 L36 6";
const RING = "M20 6 A14 14 0 1 0 20.1 6";
const TRIANGLE = "M20 3 L38 36 H2 Z";
const HOLLOW = "M20 8 L34 34 H6 Z";
/** The core looks again no sooner than every 5 s at what costs time. */
const READ_MS = 2000;

type Mark = "ticked" | "waiting" | "wrong" | "overruled";

const markOf = ({ state, overruled }: BeforeRow): Mark =>
  state === "green" ? "ticked" : overruled !== null ? "overruled" : state === "wrong" ? "wrong" : "waiting";
const spoken: Readonly<Record<Mark, string>> = {
  ticked: "checked",
  waiting: "waiting",
  wrong: "wrong",
  overruled: "driven in spite of it",
};
const shapes: Readonly<Record<Mark, () => SVGSVGElement>> = {
  ticked: () => glyph(TICK),
  overruled: () => glyph(HOLLOW),
  waiting: () => glyph(RING),
  wrong: () => glyph(TRIANGLE, true),
};

/** "a, b and c" */
const listed = (names: readonly string[]) =>
  [names.slice(0, -1).join(", "), ...names.slice(-1)].filter((part) => part !== "").join(" and ");
const begun = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

function line(name: string, mark: Mark, ...below: Node[]): HTMLElement {
  return el(
    "li",
    { class: `check ${mark}` },
    shapes[mark](),
    el("span", { class: "name" }, name, el("span", { class: "out-of-sight" }, `: ${spoken[mark]}`)),
    ...below,
  );
}

const quiet = (text: string) => el("span", { class: "quiet" }, text);

/** What the book and the adapter are is known without asking. */
const standing = (bookFile: string) => [
  line("Book is open", bookFile === "" ? "waiting" : "ticked", quiet(bookFile === "" ? "unknown" : bookFile)),
  line("Only listening", "ticked", quiet("Nothing is ever sent on the car\u2019s bus or to the receiver")),
];

/** A hint, never by itself: no browser tells how bright it is without asking. */
const inSun = () => document.documentElement.dataset.scheme === "sun";

const count = (n: number) => ["None", "One", "Two", "Three", "Four", "Five", "Six", "Seven"][n] ?? String(n);

export function createBeforePage(frame: Frame): Page {
  const sentence = el("h1");
  const second = el("p", { class: "lead" });
  const list = el("ul", { class: "checks" });
  let rows: readonly BeforeRow[] | null = null;
  let reading: ReturnType<typeof setInterval> | null = null;
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
    const named = (...marks: readonly Mark[]) =>
      (rows ?? []).filter((row) => marks.includes(markOf(row))).map((row) => row.name.toLowerCase());
    const lacking = named("waiting", "wrong");
    const open = rows === null ? 1 : lacking.length;
    const yours = CAUTIONS.length - confirmed.size;
    const overruled = named("overruled");
    setText(
      sentence,
      open + yours === 0
        ? overruled.length === 0
          ? "All ticked."
          : `All ticked but ${listed(overruled)}, overruled.`
        : open === 0
          ? `${count(yours)} left, ${yours === 1 ? "it is" : "all"} yours.`
          : `${count(open + yours)} left, ${open === 1 ? "one is" : `${open} are`} the tool\u2019s${rows === null ? "" : `: ${listed(lacking)}`}.`,
    );
    setText(
      second,
      frame.simulated()
        ? "The car is simulated: nothing moves. With a real car each line below counts."
        : `What the tool has not seen is mended, or overruled with a note that every run keeps; a tick on the right is your word.${inSun() ? "" : ` In sunlight ${frame.keys.shown("everywhere.scheme") || "the button above"} brings the sun scheme: black on white.`}`,
    );
    const now = JSON.stringify([rows, frame.bookFile()]);
    if (now === said) return;
    said = now;
    const focused = document.activeElement instanceof HTMLElement ? (document.activeElement.dataset.key ?? null) : null;
    list.replaceChildren(...(rows ?? []).map(row), ...standing(frame.bookFile()));
    if (focused === null) return;
    // What was pressed may be gone: the row's next button has the keyboard then, or the first box that is still empty.
    const [check = ""] = focused.split(" ");
    const next = list.querySelector<HTMLElement>(`[data-key="${focused}"]`) ?? list.querySelector<HTMLElement>(`[data-key^="${check} "]`);
    (next ?? boxes.find((box) => box.querySelector("input")?.checked === false)?.querySelector("input") ?? drive).focus();
  }

  const take = (request: Promise<readonly BeforeRow[]>) =>
    request
      .then((answered) => {
        rows = answered;
        render();
      })
      .catch(frame.fail);
  const read = () => take(frame.bridge.request("before.read", {}));

  async function overrule({ key, name, overruled }: BeforeRow): Promise<void> {
    if (overruled !== null) return take(frame.bridge.request("before.overrule", { key, note: null }));
    const note = await frame.ask({
      title: `Drive in spite of: ${name}`,
      field: "Why (kept with every run)",
      value: "",
      button: "Overrule",
      needed: "Write why you drive all the same.",
      most: NOTE_LETTERS,
    });
    if (note !== null) await take(frame.bridge.request("before.overrule", { key, note }));
  }

  function row(check: BeforeRow): HTMLElement {
    const mark = markOf(check);
    if (mark === "ticked") return line(check.name, mark, quiet(begun(check.words)));
    const button = (words: string, act: () => unknown) => {
      const element = el("button", { type: "button", "data-key": `${check.key} ${words}` }, words);
      element.addEventListener("click", () => void act());
      return element;
    };
    const told =
      check.overruled === null
        ? `${begun(check.words)}. ${begun(check.remedy)}.`
        : `${begun(check.words)}. Driven in spite of it: ${check.overruled}`;
    return line(
      check.name,
      mark,
      quiet(told),
      el(
        "span",
        { class: "buttons" },
        ...(check.key === "antenna" ? [button("It is fixed", () => take(frame.bridge.request("before.antenna", { fixed: true })))] : []),
        button(check.overruled === null ? "Overrule" : "Take back", () => overrule(check)),
      ),
    );
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
        el(
          "section",
          {},
          el("h2", {}, "You confirm", el("span", { class: "quiet" }, ", for this sitting: a reload asks anew")),
          el("ul", { class: "confirm" }, ...boxes),
        ),
      ),
    ),
    acts: { "before.drive": () => frame.go("drive") },
    shown() {
      render();
      void read();
      reading ??= setInterval(() => void read(), READ_MS);
    },
    hidden() {
      if (reading !== null) clearInterval(reading);
      reading = null;
    },
    onEvent(event: CoreEvent) {
      // A source that comes or goes changes the list at once.
      if (event.event === "notice" && reading !== null) void read();
    },
    changed: render,
  };
}
