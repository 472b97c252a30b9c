/** Plays a run: a cursor that moves with the clock at a chosen pace, and the closed seam as its scrubber. It stops at the end by itself. */
import { el } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import { quantity } from "../../screen/format.ts";
import { readPalette, surface } from "../../draw/palette.ts";
import { seamColumns, type SeamScales } from "../../../shared/draw/seam-columns.ts";
import { paintSeam, TILE_WEIGHTS } from "../../../shared/draw/seam-painter.ts";
import type { RunData, Window } from "./run-data.ts";

const PACES = [0.25, 0.5, 1, 2, 4] as const;

export interface Player {
  readonly element: HTMLElement;
  show(data: RunData, scales: SeamScales, span: Window): void;
  paint(): void;
  cursorS(): number;
  moveTo(timeS: number): void;
  toggle(): void;
  stop(): void;
  pace(index: number): void;
}

export interface PlayerOptions {
  readonly keys: KeyMap;
  onMove(timeS: number): void;
  /** A gate was crossed while playing. */
  onGate(): void;
}

export function createPlayer({ keys, onMove, onGate }: PlayerOptions): Player {
  const playWord = el("span", {}, "Play");
  const play = el("button", { type: "button", class: "solid" }, playWord, hint(keys, "runs.play"));
  const paceWord = el("span", {}, "Pace 1\u00d7");
  const paceButton = el(
    "button",
    { type: "button" },
    paceWord,
    el("span", {}, hint(keys, "runs.pace1"), hint(keys, "runs.pace5", "\u2013")),
  );
  const canvas = el("canvas", { "aria-hidden": "true" });
  const scrubber = el("div", { class: "scrubber", role: "slider", tabindex: 0, "aria-label": "Time from movement" }, canvas);
  let data: RunData | null = null;
  let scales: SeamScales = { slipKmh: 25, heldNm: 120 };
  let span: Window = { fromS: 0, toS: 1 };
  let cursorS = 0;
  let playing = false;
  let paceIndex = 2;
  let lastMs = 0;

  const paint = () => {
    const drawn = surface(canvas);
    if (drawn === null || data === null) return;
    const { pen, width, height } = drawn;
    const palette = readPalette();
    const ground = Math.round(height / 2);
    pen.fillStyle = palette.ink;
    pen.fillRect(0, ground - 1, width, 2);
    paintSeam(
      pen,
      { x: 0, y: ground, width, up: ground - 4, down: ground - 4 },
      seamColumns(data.seam, span.fromS, span.toS, width),
      scales,
      palette,
      { ...TILE_WEIGHTS, ground: 4, edge: 2 },
    );
    const x = Math.min(width - 9, Math.max(9, ((cursorS - span.fromS) / (span.toS - span.fromS)) * width));
    pen.fillStyle = palette.sheet;
    pen.fillRect(x - 7, 0, 14, height);
    pen.fillStyle = palette.ink;
    pen.fillRect(x - 3, 0, 6, height);
    pen.fillRect(x - 9, 0, 18, 12);
    pen.fillRect(x - 9, height - 12, 18, 12);
  };

  const moveTo = (timeS: number) => {
    cursorS = Math.min(span.toS, Math.max(span.fromS, timeS));
    scrubber.setAttribute("aria-valuemin", span.fromS.toFixed(2));
    scrubber.setAttribute("aria-valuemax", span.toS.toFixed(2));
    scrubber.setAttribute("aria-valuenow", cursorS.toFixed(3));
    scrubber.setAttribute("aria-valuetext", quantity(cursorS, "s", 2));
    paint();
    onMove(cursorS);
  };

  const set = (now: boolean) => {
    playing = now;
    playWord.textContent = now ? "Pause" : "Play";
    lastMs = performance.now();
    if (now) requestAnimationFrame(step);
  };

  function step(): void {
    if (!playing || data === null) return;
    const nowMs = performance.now();
    const from = cursorS;
    const to = from + ((nowMs - lastMs) / 1000) * PACES[paceIndex];
    lastMs = nowMs;
    if (data.view.gates.some((gate) => gate.start === "movement" && gate.seconds !== null && gate.seconds > from && gate.seconds <= to))
      onGate();
    moveTo(to);
    if (cursorS >= span.toS) set(false);
    else requestAnimationFrame(step);
  }

  const toggle = () => {
    if (!playing && cursorS >= span.toS - 0.01) moveTo(span.fromS);
    set(!playing);
  };
  const pace = (index: number) => {
    paceIndex = index;
    paceWord.textContent = `Pace ${PACES[index]}\u00d7`;
  };
  play.addEventListener("click", toggle);
  paceButton.addEventListener("click", () => pace((paceIndex + 1) % PACES.length));
  const point = (event: PointerEvent) => {
    const box = scrubber.getBoundingClientRect();
    moveTo(span.fromS + ((event.clientX - box.left) / box.width) * (span.toS - span.fromS));
  };
  scrubber.addEventListener("pointerdown", (event) => {
    scrubber.setPointerCapture(event.pointerId);
    set(false);
    point(event);
  });
  scrubber.addEventListener("pointermove", (event) => {
    if (scrubber.hasPointerCapture(event.pointerId)) point(event);
  });

  return {
    element: el("div", { class: "player" }, play, scrubber, paceButton),
    show(next, nextScales, nextSpan) {
      const same = data?.view.run.uid === next.view.run.uid;
      data = next;
      scales = nextScales;
      span = nextSpan;
      if (!same) set(false);
      moveTo(same ? cursorS : 0);
    },
    paint,
    cursorS: () => cursorS,
    moveTo,
    toggle,
    stop: () => set(false),
    pace,
  };
}
