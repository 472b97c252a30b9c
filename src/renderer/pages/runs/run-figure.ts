/** The run's figure: open or closed seam over a window of time or distance, with cursor, zoom and pan by wheel, keys and fingers. */
import { type HeldMark, heldMarkWords } from "../../../shared/draw/held-marks.ts";
import type { SeamScales } from "../../../shared/draw/seam-columns.ts";
import type { Picture } from "../../draw/chart-file.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import { el } from "../../screen/dom.ts";
import { columnName, number, quantity } from "../../screen/format.ts";
import { createReader, type CursorReading, overlayColumns, type OverlayColumns } from "./cursor-reading.ts";
import { PAD } from "./figure-parts.ts";
import {
  alignAfter,
  alignedGate,
  axisOf,
  boundsOf,
  FIRST_SHOW,
  type FigureShow,
  furtherOf,
  laidOver,
  lineAfter,
  panned,
  placeOf,
  planOf,
  timeAt,
  unitOf,
} from "./figure-show.ts";
import { listenToPointers, listenToWheel } from "./figure-touch.ts";
import { createFurtherChart } from "./further-chart.ts";
import { paintCursor, paintFigure } from "./open-seam.ts";
import { launchWindow, type RunData, wholeWindow, zoom } from "./run-data.ts";
import { figurePicture } from "./save-figure.ts";

export interface RunFigure {
  readonly element: HTMLElement;
  show(data: RunData, scales: SeamScales): void;
  /** Each time torque was held back in the run that is shown, s from movement. */
  marks(of: readonly HeldMark[]): void;
  /** Compares every run shown from now on with this one; null ends it. */
  over(reference: RunData | null): void;
  cursor(timeS: number): void;
  zoomBy(factor: number): void;
  /** Shows the whole run, or only the launch again. */
  zoomWhole(): void;
  /** Returns whether the seam is open now. */
  toggleOpen(): boolean;
  /** Returns whether the axis is distance now. */
  toggleAxis(): boolean;
  /** The further line `step` steps on, with "none" between the last and the first. Returns its name. */
  nextLine(step: number): string | null;
  /** The next place to align an overlay at: the start, then each gate that both passed. */
  nextAlign(): void;
  /** The gate at which two runs are aligned, null at the start. */
  aligned(): string | null;
  /** What the overlay adds to the run's columns; null without an overlay. */
  overlayColumns(): OverlayColumns | null;
  /** All values at a time; null without a run. */
  reading(timeS: number): CursorReading | null;
  /** Includes the further line below it; null without a run. */
  picture(): Picture | null;
}

const FIGURE_WORDS = "Speed above the ground line, motor torque below it";
const overlayWords = (run: number, reference: number) =>
  `Ground speed of run ${run}, and hollow that of run ${reference}; below, how far run ${run} is ahead in time`;
/** A picture saved on a phone is viewed elsewhere, so it has this least size. */
const LEAST_SAVED = { width: 900, height: 420 } as const;

/** The figure on its canvases: the drawing, and the cursor over it. */
function createFigureCanvases() {
  const base = el("canvas", { role: "img", "aria-label": FIGURE_WORDS });
  const over = el("canvas", { "aria-hidden": "true" });
  const box = el("div", { class: "figure-box" }, base, over);
  const further = createFurtherChart();

  function paintOver(run: RunData, show: FigureShow, cursorS: number): void {
    const drawn = surface(over);
    if (drawn === null) return;
    const { from, to } = boundsOf(run, show);
    const at = placeOf(run, cursorS, show);
    further.cursor((at - from) / (to - from));
    const text = show.byDistance ? quantity(at, unitOf(show), 1) : quantity(cursorS, "s", 2);
    paintCursor(drawn, { at, text, axis: { from, to, unit: unitOf(show) }, fontPx: fontPx(box) }, readPalette());
  }

  function paint(run: RunData, show: FigureShow, cursorS: number): void {
    const drawn = surface(base);
    if (drawn === null) return;
    const plan = planOf(run, show, fontPx(box));
    paintFigure(drawn, plan, readPalette());
    const ends = [plan.from, plan.to].map((at) => number(at, 2)).join(" to ");
    const words = plan.reference === null ? FIGURE_WORDS : overlayWords(run.view.run.id, plan.reference.data.view.run.id);
    const held = plan.reference === null ? heldMarkWords(plan.marks) : "";
    base.setAttribute("aria-label", `${words}, from ${ends} ${plan.unit}${held === "" ? "" : `. ${held} ${plan.unit}`}`);
    further.show(furtherOf(run, show), fontPx(box));
    paintOver(run, show, cursorS);
  }

  return { box, element: el("div", {}, box, further.element), paint, paintOver };
}

/** A pointer's place in the figure, as a share of its width from 0 to 1. */
function shareAt(box: HTMLElement, clientX: number): number {
  const rect = box.getBoundingClientRect();
  return Math.min(1, Math.max(0, (clientX - rect.left - PAD.left) / (rect.width - PAD.left - PAD.right)));
}

export function createRunFigure(onPick: (timeS: number) => void): RunFigure {
  const { box, element, paint, paintOver } = createFigureCanvases();
  const read = createReader();
  let data: RunData | null = null;
  let show = FIRST_SHOW;
  let cursorS = 0;

  function change(next: Partial<FigureShow>): void {
    show = { ...show, ...next };
    if (data !== null) paint(data, show, cursorS);
  }
  const about = (timeS: number, factor: number) => {
    if (data !== null) change({ window: zoom(show.window, timeS, factor, wholeWindow(data)) });
  };
  const pointed = (clientX: number) => timeAt(data, show, shareAt(box, clientX));
  const touch = {
    pick: (clientX: number) => onPick(pointed(clientX)),
    pan(px: number) {
      if (data !== null) change({ window: panned(data, show, -px / Math.max(1, box.clientWidth - PAD.left - PAD.right)) });
    },
    zoom: (clientX: number, factor: number) => about(pointed(clientX), factor),
  };
  listenToPointers(box, touch);
  listenToWheel(box, touch);

  return {
    element,
    show(next, scales) {
      const same = data?.view.run.uid === next.view.run.uid;
      data = next;
      change({ scales, ...(same ? {} : { window: launchWindow(next), marks: [] }) });
    },
    marks: (marks) => change({ marks }),
    over: (reference) => change({ reference, align: null }),
    cursor(timeS) {
      cursorS = timeS;
      if (data !== null) paintOver(data, show, cursorS);
    },
    zoomBy: (factor) => about(cursorS, factor),
    zoomWhole() {
      if (data === null) return;
      const whole = wholeWindow(data);
      const isWhole = show.window.toS - show.window.fromS > whole.toS - whole.fromS - 0.01;
      change({ window: isWhole ? launchWindow(data) : whole });
    },
    toggleOpen() {
      change({ open: !show.open });
      return show.open;
    },
    toggleAxis() {
      change({ byDistance: !show.byDistance });
      return show.byDistance;
    },
    nextLine(step) {
      change({ line: lineAfter(data, show, step) });
      return show.line === null ? null : columnName(show.line);
    },
    nextAlign() {
      if (data !== null && laidOver(data, show) !== null) change({ align: alignAfter(data, show) });
    },
    aligned: () => alignedGate(data, show),
    overlayColumns() {
      const over = data === null ? null : laidOver(data, show);
      return data === null || over === null ? null : overlayColumns(data, axisOf(data, show), over);
    },
    reading: (timeS) => (data === null ? null : read(data, data.rowAt(timeS), placeOf(data, timeS, show), show.line, laidOver(data, show))),
    picture() {
      if (data === null) return null;
      const width = Math.max(LEAST_SAVED.width, box.clientWidth);
      const height = Math.max(LEAST_SAVED.height, box.clientHeight);
      return figurePicture({ plan: planOf(data, show, fontPx(box)), further: furtherOf(data, show), width, height });
    },
  };
}
