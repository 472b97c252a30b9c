/**
 * What on a page cannot be read, or reached, at the size it has now: words cut by a box or by the window, words over other words, words under something that
 * stands still, words of one letter a line, a page that moves sideways. Runs in the page; answers one line a fault, none where all can be read.
 */
import type { Page } from "playwright-core";

export interface Crowd {
  /** Nothing may be lower than the window's edge: the passenger's view, which does not scroll. */
  readonly oneScreen: boolean;
  /** Pieces of words that people wrote at length: these may be cut by an ellipsis where the whole stands in a title. */
  readonly long: readonly string[];
}

/** In the page. Boxes of text are those of its letters: the face's line gap, which is empty, may lie over another line. */
function look({ oneScreen, long }: Crowd): string[] {
  /** Of IBM Plex Sans (its own metrics): the content area begins 1.025 em above the baseline; ascenders 0.76 em, feet 0.22 em. */
  const [CONTENT_UP, CAPITALS, FEET] = [1.025, 0.76, 0.22];
  const SLACK = 1.5;
  /** Letters squeezed to less than this are hard to read. */
  const NARROW = 0.65;
  const faults = new Set<string>();
  interface Piece {
    readonly text: string;
    readonly of: Element;
    readonly layer: Element;
    readonly left: number;
    readonly top: number;
    readonly right: number;
    readonly bottom: number;
  }
  const pieces: Piece[] = [];
  const short = (text: string) => (text.length > 44 ? `${text.slice(0, 40)}...` : text);
  const where = (element: Element) => {
    const names = [...element.classList].slice(0, 2).join(".");
    const of = element.parentElement?.closest("[class]");
    const outer = [...(of?.classList ?? [])].slice(0, 2).join(".");
    return `${outer === "" ? "" : `.${outer} `}${element.tagName.toLowerCase()}${names === "" ? "" : `.${names}`}`;
  };
  const dialogs = [...document.querySelectorAll("dialog[open]")];
  const scope = dialogs.at(-1) ?? document.body;
  const isLong = (text: string) => long.some((piece) => text.toLowerCase().includes(piece.toLowerCase()));
  const measuring = document.createElement("canvas").getContext("2d") as CanvasRenderingContext2D;
  /** Ink above and below the baseline, px: of the text itself where it stands in one line. */
  const inkOf = (text: string, style: CSSStyleDeclaration, em: number, single: boolean) => {
    if (!single) return { up: CAPITALS * em, down: FEET * em };
    measuring.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const { actualBoundingBoxAscent: up, actualBoundingBoxDescent: down } = measuring.measureText(text);
    return { up, down };
  };
  /** Whether an element hides what lies under it. */
  const hides = (element: Element) => {
    const { backgroundColor, backgroundImage } = getComputedStyle(element);
    return (
      /^(IMG|IFRAME|INPUT|SELECT|BUTTON)$/.test(element.tagName) ||
      backgroundImage !== "none" ||
      !/^rgba\(.*, 0\)$|^transparent$/.test(backgroundColor)
    );
  };
  const wide = window.innerWidth;
  const high = window.innerHeight;

  /** What parts an element from the page's own flow: a dialog, a bar that stands still, a list that opens over the page. */
  const layerOf = (element: Element): Element => {
    for (let at: Element | null = element; at !== null; at = at.parentElement) {
      const { position, zIndex } = getComputedStyle(at);
      if (at.tagName === "DIALOG" || position === "fixed" || position === "sticky" || (position === "absolute" && zIndex !== "auto"))
        return at;
    }
    return document.body;
  };

  /** Cuts a box down to what of it shows; null where nothing does. Tells of words that a box cuts. */
  const shownOf = (element: Element, text: string, rect: DOMRect): DOMRect | null => {
    let { left, top, right, bottom } = rect;
    for (let at: Element | null = element; at !== null && at !== document.documentElement; at = at.parentElement) {
      const style = getComputedStyle(at);
      if (style.position === "fixed") break;
      if (at === document.body || (style.overflowX === "visible" && style.overflowY === "visible")) continue;
      const box = at.getBoundingClientRect();
      const inner = { left: box.left + at.clientLeft, top: box.top + at.clientTop, right: 0, bottom: 0 };
      inner.right = inner.left + at.clientWidth;
      inner.bottom = inner.top + at.clientHeight;
      const rolls = /auto|scroll/.test(style.overflowY);
      const rollsSideways = /auto|scroll/.test(style.overflowX) && at.classList.contains("shelf");
      const cutSideways = left < inner.left - SLACK || right > inner.right + SLACK;
      const cutBelow = bottom > inner.bottom + SLACK || top < inner.top - SLACK;
      const whole = at.closest("[title]")?.getAttribute("title") ?? "";
      if (((cutSideways && !rollsSideways) || (cutBelow && !rolls)) && !isLong(whole))
        faults.add(`cut: "${short(text)}" by ${where(at)}${isLong(text) ? " (long, without the whole in a title)" : ""}`);
      left = Math.max(left, inner.left);
      right = Math.min(right, inner.right);
      top = Math.max(top, inner.top);
      bottom = Math.min(bottom, inner.bottom);
      if (right - left < 1 || bottom - top < 1) return null;
    }
    return new DOMRect(left, top, right - left, bottom - top);
  };

  const walker = document.createTreeWalker(scope, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
    const element = node.parentElement;
    const text = (node.textContent ?? "").replace(/\s+/g, " ").trim();
    if (element === null || text === "" || /^(OPTION|SCRIPT|STYLE|CANVAS)$/.test(element.tagName)) continue;
    if (!element.checkVisibility({ visibilityProperty: true }) || element.closest(".out-of-sight") !== null) continue;
    const style = getComputedStyle(element);
    const em = Number.parseFloat(style.fontSize);
    const range = document.createRange();
    range.selectNodeContents(node);
    const rects = [...range.getClientRects()].filter((rect) => rect.width > 0.5);
    const layer = layerOf(element);
    for (const rect of rects) {
      const ink = inkOf(text, style, em, rects.length === 1);
      const baseline = rect.top + (rect.height * CONTENT_UP) / 1.3;
      const [top, bottom] = [baseline - ink.up, baseline + ink.down];
      const shown = shownOf(element, text, new DOMRect(rect.left, top, rect.width, Math.max(1, bottom - top)));
      if (shown === null) continue;
      if (shown.right > wide + SLACK || shown.left < -SLACK) faults.add(`beside the window: "${short(text)}" in ${where(element)}`);
      if (oneScreen && shown.bottom > high + SLACK) faults.add(`below the window: "${short(text)}" in ${where(element)}`);
      pieces.push({ text, of: element, layer, left: shown.left, top: shown.top, right: shown.right, bottom: shown.bottom });
      const [x, y] = [(shown.left + shown.right) / 2, (shown.top + shown.bottom) / 2];
      if (x < 0 || y < 0 || x >= wide || y >= high) continue;
      const hit = document.elementFromPoint(x, y);
      let over: Element | null = hit;
      // Tall letters are hit beyond their own box, where nothing is hidden.
      const inside = (of: Element) => of.getBoundingClientRect().top < y && of.getBoundingClientRect().bottom > y;
      while (over !== null && !over.contains(element) && !(hides(over) && inside(over))) over = over.parentElement;
      if (hit !== null && over !== null && !over.contains(element) && !element.contains(over) && layerOf(over) === layer)
        faults.add(`covered: "${short(text)}" in ${where(element)} by ${where(over)}`);
    }
    const words = text.split(" ");
    if (words.length > 3 && rects.length >= words.length - 1) faults.add(`one word a line: "${short(text)}" in ${where(element)}`);
  }

  for (const canvas of scope.querySelectorAll("canvas")) {
    if (!canvas.checkVisibility({ visibilityProperty: true })) continue;
    const box = canvas.getBoundingClientRect();
    for (const { text, left, top, right, bottom, share, coveredBy } of window.drawnTexts(canvas)) {
      if (left < -SLACK || top < -SLACK || right > box.width + SLACK || bottom > box.height + SLACK)
        faults.add(`drawn beyond its figure: "${short(text)}" on ${where(canvas)}`);
      if (share < NARROW) faults.add(`squeezed to ${share.toFixed(2)}: "${short(text)}" on ${where(canvas)}`);
      if (coveredBy !== null) faults.add(`drawn over: "${short(text)}" on ${where(canvas)} by ${coveredBy}`);
      const shown = shownOf(canvas, text, new DOMRect(box.left + left, box.top + top, right - left, bottom - top));
      if (shown !== null)
        pieces.push({
          text,
          of: canvas,
          layer: layerOf(canvas),
          left: shown.left,
          top: shown.top,
          right: shown.right,
          bottom: shown.bottom,
        });
    }
  }

  for (const select of scope.querySelectorAll("select")) {
    if (!select.checkVisibility()) continue;
    const style = getComputedStyle(select);
    const context = document.createElement("canvas").getContext("2d");
    if (context === null) continue;
    context.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const text = select.selectedOptions[0]?.textContent ?? "";
    const room = select.clientWidth - Number.parseFloat(style.paddingLeft) - Number.parseFloat(style.paddingRight) - 16;
    // What a choice cuts may stand whole in the words about it.
    const isTold = pieces.some((piece) => piece.of !== select && piece.text.includes(text));
    if (context.measureText(text).width > room + SLACK && !isLong(text) && !isTold)
      faults.add(`cut: "${short(text)}" chosen in ${where(select)}`);
  }

  pieces.sort((a, b) => a.top - b.top);
  pieces.forEach((a, i) => {
    for (let at = i + 1; at < pieces.length; at += 1) {
      const b = pieces[at] as Piece;
      if (b.top >= a.bottom - SLACK) break;
      // The cursor's place covers a number of the axis whole, on a canvas of its own.
      if (a.of !== b.of && a.of.parentElement === b.of.parentElement && a.of.tagName === "CANVAS" && b.of.tagName === "CANVAS") continue;
      if (a.layer !== b.layer || (a.of === b.of && a.of.tagName !== "CANVAS" && a.text === b.text)) continue;
      const over = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      if (over > SLACK && Math.min(a.bottom, b.bottom) - b.top > SLACK)
        faults.add(`over each other: "${short(a.text)}" (${where(a.of)}) and "${short(b.text)}" (${where(b.of)})`);
    }
  });

  const page = document.scrollingElement as Element;
  if (page.scrollWidth > wide) {
    const reaching = [...scope.querySelectorAll("*")].filter(
      (element) => element.checkVisibility() && element.getBoundingClientRect().right > wide,
    );
    faults.add(`the page moves sideways: ${page.scrollWidth} of ${wide}, to ${reaching.map(where).slice(-3).join(", ")}`);
  }
  if (oneScreen && page.scrollHeight > high + 1) faults.add(`the page is higher than the window: ${page.scrollHeight} of ${high}`);
  for (const element of scope.querySelectorAll("*")) {
    if (element.scrollWidth <= element.clientWidth + 2 || !element.checkVisibility() || element.classList.contains("shelf")) continue;
    if (/auto|scroll/.test(getComputedStyle(element).overflowX) && !/^(INPUT|TEXTAREA)$/.test(element.tagName))
      faults.add(`moves sideways: ${where(element)}, ${element.scrollWidth} of ${element.clientWidth}`);
  }
  for (const button of scope.querySelectorAll(".foot button.main")) {
    if (!button.checkVisibility()) continue;
    const box = button.getBoundingClientRect();
    const corners = [
      [box.left + 8, box.top + 8],
      [box.right - 8, box.top + 8],
      [box.left + 8, box.bottom - 8],
      [box.right - 8, box.bottom - 8],
    ];
    if (dialogs.length === 0 && !corners.every(([x = 0, y = 0]) => button.contains(document.elementFromPoint(x, y))))
      faults.add(`not whole in view: "${button.textContent}"`);
  }
  return [...faults];
}

export const crowding = (page: Page, crowd: Crowd): Promise<string[]> => page.evaluate(look, crowd);
