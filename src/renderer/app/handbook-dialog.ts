/**
 * The handbook over the page, opened at the page's own chapter. It is part of the screens, so it needs no network and no host. A launch closes
 * it (core-events.ts).
 */
import { CHAPTERS, PICTURES } from "../../../docs/handbook/README.md";
import type { HandbookChapter, HandbookPiece } from "../build/handbook-tree.ts";
import { openDialog, submit } from "../screen/dialogs.ts";
import { el, setText } from "../screen/dom.ts";
import type { PageName } from "../screen/page-name.ts";

/** What a person on this page most probably looks for. */
const OF_PAGE: Readonly<Record<PageName, string>> = {
  car: "calibrating",
  wiring: "wiring",
  before: "cautions",
  drive: "driving",
  runs: "runs",
  compare: "verdict",
  lost: "tuning",
  plan: "planning",
  report: "runs",
};

function shown(piece: HandbookPiece, go: (chapter: string) => void): Node | string {
  if (typeof piece === "string") return piece;
  if ("picture" in piece) {
    // No lazy loading: what is below would move while somebody reads.
    return el("img", { src: PICTURES[piece.picture], alt: piece.words, width: 1280, height: 720 });
  }
  if ("chapter" in piece) {
    const link = el("button", { type: "button", class: "to-chapter" }, piece.words);
    link.addEventListener("click", () => go(piece.chapter));
    return link;
  }
  const element = el(piece.tag, piece.tag === "th" ? { scope: "col" } : {}, ...piece.children.map((child) => shown(child, go)));
  // A wide table scrolls by itself, by keyboard too.
  return piece.tag === "table" ? el("div", { class: "wide-table", tabindex: 0, role: "group", "aria-label": "Table" }, element) : element;
}

/** Shows the handbook until it is closed. */
export async function openHandbook(page: PageName): Promise<void> {
  const heading = el("h2", { class: "lead" });
  const text = el("article", { tabindex: 0, "aria-label": "Chapter" });
  const choice = el("select", { "aria-label": "Chapter" }, ...CHAPTERS.map(({ title }, at) => el("option", { value: at }, title)));
  const names = CHAPTERS.map(({ title, name }) => {
    const button = el("button", { type: "button" }, title);
    button.addEventListener("click", () => go(name));
    return button;
  });

  function show(chapter: HandbookChapter): void {
    const at = CHAPTERS.indexOf(chapter);
    setText(heading, chapter.title);
    choice.value = String(at);
    for (const [i, button] of names.entries()) {
      if (i === at) button.setAttribute("aria-current", "page");
      else button.removeAttribute("aria-current");
    }
    const next = CHAPTERS[at + 1];
    text.replaceChildren(...chapter.pieces.map((piece) => shown(piece, go)));
    if (next !== undefined) text.append(el("p", { class: "next-chapter" }, "Next: ", shown({ chapter: next.name, words: next.title }, go)));
    text.scrollTop = 0;
  }

  function go(name: string): void {
    const chapter = CHAPTERS.find((one) => one.name === name);
    if (chapter === undefined) return;
    show(chapter);
    // Arrows and Page Down scroll the text at once.
    text.focus();
  }

  choice.addEventListener("change", () => {
    const chapter = CHAPTERS[Number(choice.value)];
    if (chapter !== undefined) show(chapter);
  });
  const dialog = el(
    "dialog",
    { "aria-label": "Handbook", class: "handbook" },
    el(
      "form",
      { method: "dialog" },
      el("div", { class: "handbook-head" }, heading, choice, submit("Close", "", true)),
      el("div", { class: "handbook-body" }, el("nav", { "aria-label": "Chapters" }, ...names), text),
    ),
  );
  const closed = openDialog(dialog);
  go(OF_PAGE[page]);
  await closed;
}
