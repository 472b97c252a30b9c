/** The run's figure: open or closed seam over a window of time or distance, with cursor, zoom and pan by wheel, keys and fingers. */
import { el } from "../../screen/dom.ts";
import { columnName, number, quantity, unitWord } from "../../screen/format.ts";
import type { Picture } from "../../draw/chart-file.ts";
import { fontPx, readPalette, surface } from "../../draw/palette.ts";
import type { SeamScales } from "../../../shared/draw/seam-columns.ts";
import { createReader, type CursorReading, overlayColumns, type OverlayColumns } from "./cursor-reading.ts";
import { createFurtherChart } from "./further-chart.ts";
import { PAD } from "./figure-parts.ts";
import { listenToPointers } from "./figure-touch.ts";
import { type FigurePlan, paintCursor, paintFigure } from "./open-seam.ts";
import { alignedAt, sharedGates } from "./overlay-align.ts";
import { figurePicture } from "./save-figure.ts";
import { launchWindow, type RunData, wholeWindow, type Window, zoom } from "./run-data.ts";

export interface RunFigure {
  readonly element: HTMLElement;
  show(data: RunData, scales: SeamScales): void;
  /** Lays every run shown from now on over this one; null ends it. */
  over(reference: RunData | null): void;
  paint(): void;
  cursor(timeS: number): void;
  zoomBy(factor: number): void;
  /** The whole run, or back to the launch. */
  zoomWhole(): void;
  window(): Window;
  /** Answers whether the seam is open now. */
  toggleOpen(): boolean;
  /** Answers whether it stands over distance now. */
  toggleAxis(): boolean;
  /** The further line that many steps on, none between the last and the first. Answers its name. */
  nextLine(step: number): string | null;
  /** The next place to align an overlay at: the start, then each gate that both passed. */
  nextAlign(): void;
  /** The gate that two runs are aligned at, null at the start. */
  aligned(): string | null;
  /** What the overlay adds to the run's columns; null where nothing lies over anything. */
  overlayColumns(): OverlayColumns | null;
  /** Everything that stands at a time; null without a run. */
  reading(timeS: number): CursorReading | null;
  /** With the further line under it, as drawn; null without a run. */
  picture(): Picture | null;
}

/** Columns that the figure itself draws, or that are the axes. */
const DRAWN = new Set(["timeS", "groundSpeedKmh", "wheelSpeedKmh", "torqueRequestNm", "torqueDeliveredNm", "tractionControlActive"]);

const FIGURE_WORDS = "Speed above the ground line, motor torque below it";
const overlayWords = (run: number, reference: number) =>
  `Ground speed of run ${run}, and hollow that of run ${reference}; below, how far run ${run} is ahead in time`;
/** A picture saved on a phone is read elsewhere. */
const LEAST_SAVED = { width: 900, height: 420 } as const;

export function createRunFigure(onPick: (timeS: number) => void): RunFigure {
  const base = el("canvas", { role: "img", "aria-label": FIGURE_WORDS });
  const over = el("canvas", { "aria-hidden": "true" });
  const box = el("div", { class: "figure-box" }, base, over);
  const further = createFurtherChart();
  let data: RunData | null = null;
  let reference: RunData | null = null;
  let scales: SeamScales = { slipKmh: 25, heldNm: 120 };
  let window_: Window = { fromS: 0, toS: 1 };
  let cursorS = 0;
  let open = true;
  let byDistance = false;
  let line: string | null = null;
  let align: string | null = null;
  const read = createReader();

  /** Distance repeats while standing, so only its rising part serves as an axis; before it counts as unknown. */
  const axis = (run: RunData) => (byDistance ? run.column("distanceM").map((d, i) => (run.timeS[i] < 0 ? Number.NaN : d)) : run.timeS);
  const place = (run: RunData, timeS: number) => (byDistance ? run.column("distanceM")[run.rowAt(Math.max(0, timeS))] : timeS);

  const bounds = (run: RunData) => ({
    from: byDistance ? place(run, window_.fromS) : window_.fromS,
    to: byDistance ? Math.max(place(run, window_.toS), 1) : window_.toS,
  });

  const laidOver = (run: RunData): FigurePlan["reference"] => {
    if (reference === null || reference.view.run.uid === run.view.run.uid) return null;
    const { runS, referenceS } = alignedAt(run, reference, align);
    const shift = place(run, runS) - place(reference, referenceS);
    const own = axis(reference);
    return { data: reference, axis: shift === 0 ? own : own.map((at) => at + shift), shiftS: runS - referenceS };
  };

  const planOf = (run: RunData): FigurePlan => {
    const gates = run.view.gates
      .filter((gate) => gate.start === "movement" && gate.seconds !== null)
      .map((gate) => ({ gate: gate.gate, at: place(run, gate.seconds as number) }))
      .sort((a, b) => a.at - b.at);
    const unit = byDistance ? "m" : "s";
    return { data: run, reference: laidOver(run), axis: axis(run), ...bounds(run), unit, open, scales, fontPx: fontPx(box), gates };
  };

  const furtherOf = (run: RunData) =>
    line === null
      ? null
      : { name: columnName(line), unit: unitWord(run.unit(line)), axis: axis(run), values: run.column(line), ...bounds(run) };

  const paint = () => {
    if (data === null) return;
    const drawn = surface(base);
    if (drawn === null) return;
    const plan = planOf(data);
    paintFigure(drawn, plan, readPalette());
    const ends = [plan.from, plan.to].map((at) => number(at, 2)).join(" to ");
    const words = plan.reference === null ? FIGURE_WORDS : overlayWords(data.view.run.id, plan.reference.data.view.run.id);
    base.setAttribute("aria-label", `${words}, from ${ends} ${plan.unit}`);
    further.show(furtherOf(data), fontPx(box));
    paintOver();
  };

  const paintOver = () => {
    const drawn = surface(over);
    if (drawn === null || data === null) return;
    const { from, to } = bounds(data);
    const at = place(data, cursorS);
    further.cursor((at - from) / (to - from));
    paintCursor(
      drawn,
      at,
      byDistance ? quantity(at, "m", 1) : quantity(cursorS, "s", 2),
      { from, to, unit: byDistance ? "m" : "s" },
      readPalette(),
      fontPx(box),
    );
  };

  const timeAt = (clientX: number) => {
    const rect = box.getBoundingClientRect();
    const share = Math.min(1, Math.max(0, (clientX - rect.left - PAD.left) / (rect.width - PAD.left - PAD.right)));
    if (!byDistance || data === null) return window_.fromS + share * (window_.toS - window_.fromS);
    const { from, to } = bounds(data);
    const distance = data.column("distanceM");
    const row = distance.findIndex((d) => d >= from + share * (to - from));
    return data.timeS[Math.max(0, row)];
  };
  const change = (next: Window) => {
    window_ = next;
    paint();
  };
  const about = (timeS: number, factor: number) => {
    if (data !== null) change(zoom(window_, timeS, factor, wholeWindow(data)));
  };

  const pan = (px: number) => {
    if (data === null) return;
    const width = window_.toS - window_.fromS;
    const whole = wholeWindow(data);
    const fromS = Math.min(
      Math.max(whole.fromS, window_.fromS - (px / Math.max(1, box.clientWidth - PAD.left - PAD.right)) * width),
      whole.toS - width,
    );
    change({ fromS, toS: fromS + width });
  };
  listenToPointers(box, { pick: (x) => onPick(timeAt(x)), pan, zoom: (x, factor) => about(timeAt(x), factor) });
  box.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      const sideways = event.shiftKey ? event.deltaY : event.deltaX;
      if (Math.abs(sideways) <= Math.abs(event.deltaY) && !event.shiftKey)
        return about(timeAt(event.clientX), event.deltaY > 0 ? 1.2 : 1 / 1.2);
      pan(-sideways);
    },
    { passive: false },
  );

  return {
    element: el("div", {}, box, further.element),
    show(next, nextScales) {
      if (data?.view.run.uid !== next.view.run.uid) window_ = launchWindow(next);
      data = next;
      scales = nextScales;
      paint();
    },
    over(next) {
      reference = next;
      align = null;
      paint();
    },
    paint,
    cursor(timeS) {
      cursorS = timeS;
      paintOver();
    },
    zoomBy: (factor) => about(cursorS, factor),
    zoomWhole() {
      if (data === null) return;
      const whole = wholeWindow(data);
      change(window_.toS - window_.fromS > whole.toS - whole.fromS - 0.01 ? launchWindow(data) : whole);
    },
    window: () => window_,
    toggleOpen() {
      open = !open;
      paint();
      return open;
    },
    toggleAxis() {
      byDistance = !byDistance;
      paint();
      return byDistance;
    },
    nextLine(step) {
      const names = [null, ...(data?.names ?? []).filter((name) => !DRAWN.has(name))];
      line = names.at((names.indexOf(line) + step) % names.length) ?? null;
      paint();
      return line === null ? null : columnName(line);
    },
    nextAlign() {
      if (data === null || laidOver(data) === null || reference === null) return;
      const gates = sharedGates(data, reference);
      align = gates[align === null ? 0 : gates.indexOf(align) + 1] ?? null;
      paint();
    },
    aligned: () => (data !== null && reference !== null && align !== null && sharedGates(data, reference).includes(align) ? align : null),
    overlayColumns() {
      const over = data === null ? null : laidOver(data);
      return data === null || over === null ? null : overlayColumns(data, axis(data), over);
    },
    reading: (timeS) => (data === null ? null : read(data, data.rowAt(timeS), place(data, timeS), line, laidOver(data))),
    picture: () =>
      data === null
        ? null
        : figurePicture({
            plan: planOf(data),
            further: furtherOf(data),
            width: Math.max(LEAST_SAVED.width, box.clientWidth),
            height: Math.max(LEAST_SAVED.height, box.clientHeight),
          }),
  };
}
