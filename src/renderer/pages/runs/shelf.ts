/** The row of prints: one tile a run, oldest first: number, time, group, print. "Set aside" and "flagged" are drawn and written. */
import { flagList } from "../../../shared/run/flag-words.ts";
import type { RunRow } from "../../../shared/contract/contract.ts";
import { el } from "../../screen/dom.ts";
import { number } from "../../screen/format.ts";
import { readPalette, surface } from "../../draw/palette.ts";
import { PRINT_STEP_S } from "../../../shared/run/run-print.ts";
import { printData } from "../../../shared/draw/print-data.ts";
import { seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import { markOf, paintGroupMark } from "../../../shared/draw/group-mark.ts";
import { paintSeam, TILE_WEIGHTS } from "../../../shared/draw/seam-painter.ts";

function paintTile(canvas: HTMLCanvasElement, run: RunRow, mark: number, scales: SeamScales, spanS: number): void {
  const drawn = surface(canvas);
  if (drawn === null) return;
  const { pen, width, height } = drawn;
  const palette = readPalette();
  const ground = Math.round(height * 0.6);
  const place = { x: 18, y: ground, width: width - 18, up: ground - 4, down: height - ground - 4 };
  pen.fillStyle = palette.ink;
  pen.fillRect(18, ground - 0.5, width - 18, 1);
  const columns = seamColumns(printData(run.print), 0, spanS, Math.floor(width - 18));
  paintSeam(pen, { place, columns, scales, weights: TILE_WEIGHTS }, palette);
  paintGroupMark(pen, mark, { x: 8, y: ground, radius: 5.5 }, palette);
  pen.fillStyle = palette.ink;
  if (!run.use) pen.fillRect(0, height * 0.45, width, 2);
  if (run.flags.length > 0) {
    pen.fillRect(width - 13, 0, 2, 14);
    pen.beginPath();
    pen.moveTo(width - 11, 0);
    pen.lineTo(width, 4);
    pen.lineTo(width - 11, 8);
    pen.fill();
  }
}

interface ShelfMarks {
  readonly selected: number | null;
  /** Chosen to be edited as one; null while none are being chosen. */
  readonly chosen: ReadonlySet<number> | null;
  /** The run that the others are compared with. */
  readonly under: number | null;
}

export interface Shelf {
  readonly element: HTMLElement;
  /** `groups` of the whole book, so that a group keeps its mark from day to day. */
  render(runs: readonly RunRow[], groups: readonly string[], scales: SeamScales): void;
  /** Marks existing tiles; no print is drawn again. */
  mark(shown: ShelfMarks): void;
}

const unseen = (text: string) => el("span", { class: "out-of-sight" }, text);

/** A tile's content, with the words that make it a sentence for people who listen. */
function tileContent(run: RunRow): HTMLElement[] {
  const time =
    run.seconds === null
      ? [el("span", { class: "time" }, "\u2014", unseen(" 60 mph not reached"))]
      : [el("span", { class: "time" }, number(run.seconds, 2), unseen(" seconds to 60 mph"))];
  const more = [run.label, run.use ? "" : "set aside", run.flags.length > 0 ? `flagged ${flagList(run.flags)}` : ""].filter(
    (part) => part !== "",
  );
  return [el("span", { class: "tile-head" }, el("span", {}, unseen("Run "), String(run.id)), ...time), unseen(`, ${more.join(", ")}`)];
}

/** The row's frames reach so far over it and below it (style/runs.css). */
const BEYOND_PX = 8;

const reveal = (tile: Element | null) => tile?.scrollIntoView({ block: "nearest", inline: "nearest" });

/** `before`: the buttons that stand before the row, and stay however far it is scrolled. */
export function createShelf(onPress: (id: number, event: MouseEvent) => void, before: readonly HTMLElement[]): Shelf {
  const row = el("ol", { class: "shelf", "aria-label": "Runs, oldest first" });
  const element = el("div", { class: "shelf-row" }, el("div", { class: "find" }, ...before), row);
  // The page's own scroll bar comes after the tiles, and makes the row narrower.
  new ResizeObserver(() => reveal(row.querySelector("[aria-current]"))).observe(row);
  let tiles: readonly {
    readonly tile: HTMLElement;
    readonly canvas: HTMLCanvasElement;
    readonly laid: HTMLElement;
    readonly run: RunRow;
  }[] = [];
  let hadFocus = false;
  return {
    element,
    render(runs, groups, scales) {
      const spanS = Math.max(3, ...runs.map((run) => run.print.slipKmh.length * PRINT_STEP_S));
      hadFocus = row.contains(document.activeElement);
      tiles = runs.map((run) => {
        const canvas = el("canvas", { "aria-hidden": "true" });
        const laid = el("span", { class: "out-of-sight", hidden: true }, ", laid under");
        const tile = el("button", { type: "button", class: "tile" }, ...tileContent(run), laid, canvas);
        tile.addEventListener("click", (event) => onPress(run.id, event));
        return { tile, canvas, laid, run };
      });
      row.replaceChildren(...tiles.map(({ tile }) => el("li", {}, tile)));
      for (const { canvas, run } of tiles) paintTile(canvas, run, markOf(groups, run.label), scales, spanS);
      document.documentElement.style.setProperty("--shelf", `${element.offsetHeight + BEYOND_PX}px`);
    },
    mark({ selected, chosen, under }) {
      row.classList.toggle("choosing", chosen !== null);
      const focused = hadFocus || row.contains(document.activeElement);
      hadFocus = false;
      for (const { tile, laid, run } of tiles) {
        tile.classList.toggle("under", run.id === under);
        laid.hidden = run.id !== under;
        if (chosen === null) tile.removeAttribute("aria-pressed");
        else tile.setAttribute("aria-pressed", String(chosen.has(run.id)));
        if (run.id !== selected) tile.removeAttribute("aria-current");
        else if (tile.getAttribute("aria-current") !== "true") {
          tile.setAttribute("aria-current", "true");
          if (focused) tile.focus();
          reveal(tile);
        }
      }
    },
  };
}
