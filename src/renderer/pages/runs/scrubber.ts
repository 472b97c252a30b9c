/** The closed seam below the player: shows the cursor's place in the run, and moves it by pointer. Without a run nothing is drawn. */
import { paintMomentMark } from "../../../shared/draw/moment-mark.ts";
import { seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import { paintSeam, TILE_WEIGHTS } from "../../../shared/draw/seam-painter.ts";
import { readPalette, surface } from "../../draw/palette.ts";
import { el } from "../../screen/dom.ts";
import { quantity } from "../../screen/format.ts";
import type { RunData, Window } from "./run-data.ts";

export interface Scrubbed {
  readonly data: RunData;
  readonly scales: SeamScales;
  readonly span: Window;
}

export interface Scrubber {
  readonly element: HTMLElement;
  show(what: Scrubbed | null, cursorS: number): void;
}

function paintScrubber(canvas: HTMLCanvasElement, { data, scales, span }: Scrubbed, cursorS: number): void {
  const drawn = surface(canvas);
  if (drawn === null) return;
  const { pen, width, height } = drawn;
  const palette = readPalette();
  const ground = Math.round(height / 2);
  pen.fillStyle = palette.ink;
  pen.fillRect(0, ground - 1, width, 2);
  const place = { x: 0, y: ground, width, up: ground - 4, down: ground - 4 };
  const columns = seamColumns(data.seam, span.fromS, span.toS, width);
  paintSeam(pen, { place, columns, scales, weights: { ...TILE_WEIGHTS, ground: 4, edge: 2 } }, palette);
  for (const { atS } of data.view.moments) {
    const share = (atS - span.fromS) / (span.toS - span.fromS);
    if (share >= 0 && share <= 1) paintMomentMark(pen, share * width, ground, palette);
  }
  const x = Math.min(width - 9, Math.max(9, ((cursorS - span.fromS) / (span.toS - span.fromS)) * width));
  pen.fillStyle = palette.sheet;
  pen.fillRect(x - 7, 0, 14, height);
  pen.fillStyle = palette.ink;
  pen.fillRect(x - 3, 0, 6, height);
  pen.fillRect(x - 9, 0, 18, 12);
  pen.fillRect(x - 9, height - 12, 18, 12);
}

/** `onGrab`: a pointer took the cursor. `onMove`: it was dragged to this share of the run, 0 to 1. */
export function createScrubber(onGrab: () => void, onMove: (share: number) => void): Scrubber {
  const canvas = el("canvas", { "aria-hidden": "true" });
  const element = el("div", { class: "scrubber", role: "slider", tabindex: 0, "aria-label": "Time from movement" }, canvas);
  const point = (event: PointerEvent) => {
    const box = element.getBoundingClientRect();
    onMove((event.clientX - box.left) / box.width);
  };
  element.addEventListener("pointerdown", (event) => {
    element.setPointerCapture(event.pointerId);
    onGrab();
    point(event);
  });
  element.addEventListener("pointermove", (event) => {
    if (element.hasPointerCapture(event.pointerId)) point(event);
  });
  return {
    element,
    show(what, cursorS) {
      const { fromS, toS } = what?.span ?? { fromS: 0, toS: 1 };
      element.setAttribute("aria-valuemin", fromS.toFixed(2));
      element.setAttribute("aria-valuemax", toS.toFixed(2));
      element.setAttribute("aria-valuenow", cursorS.toFixed(3));
      element.setAttribute("aria-valuetext", quantity(cursorS, "s", 2));
      if (what !== null) paintScrubber(canvas, what, cursorS);
    },
  };
}
