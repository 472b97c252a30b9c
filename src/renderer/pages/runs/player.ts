/** Replays a run: a cursor that moves with the clock at a chosen speed, and the closed seam to move it by hand. Stops at the end. */
import type { SeamScales } from "../../../shared/draw/seam-columns.ts";
import { el, setText } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { KeyMap } from "../../screen/key-map.ts";
import type { RunData, Window } from "./run-data.ts";
import { createScrubber, type Scrubbed } from "./scrubber.ts";

const PACES = [0.25, 0.5, 1, 2, 4] as const;

export interface Player {
  readonly element: HTMLElement;
  show(data: RunData, scales: SeamScales, span: Window): void;
  cursorS(): number;
  moveTo(timeS: number): void;
  toggle(): void;
  stop(): void;
  pace(index: number): void;
}

export interface PlayerOptions {
  readonly keys: KeyMap;
  onMove(timeS: number): void;
  /** A gate was crossed during replay. */
  onGate(): void;
}

/** Whether a gate lies after `fromS` and not after `toS`. */
const passesGate = ({ view }: RunData, fromS: number, toS: number) =>
  view.gates.some(({ start, seconds }) => start === "movement" && seconds !== null && seconds > fromS && seconds <= toS);

export function createPlayer({ keys, onMove, onGate }: PlayerOptions): Player {
  const playWord = el("span", {}, "Play");
  const play = el("button", { type: "button", class: "solid" }, playWord, hint(keys, "runs.play"));
  const paceWord = el("span", {}, "Pace 1\u00d7");
  const paceKeys = el("span", {}, hint(keys, "runs.pace1"), hint(keys, "runs.pace5", "\u2013"));
  const paceButton = el("button", { type: "button" }, paceWord, paceKeys);
  const scrubber = createScrubber(
    () => set(false),
    (share) => moveTo(span().fromS + share * (span().toS - span().fromS)),
  );
  let shown: Scrubbed | null = null;
  let cursorS = 0;
  let playing = false;
  let paceIndex = 2;
  let lastMs = 0;
  const span = (): Window => shown?.span ?? { fromS: 0, toS: 1 };

  function moveTo(timeS: number): void {
    cursorS = Math.min(span().toS, Math.max(span().fromS, timeS));
    scrubber.show(shown, cursorS);
    onMove(cursorS);
  }

  function set(now: boolean): void {
    playing = now;
    setText(playWord, now ? "Pause" : "Play");
    lastMs = performance.now();
    if (now) requestAnimationFrame(step);
  }

  function step(): void {
    if (!playing || shown === null) return;
    const nowMs = performance.now();
    const to = cursorS + ((nowMs - lastMs) / 1000) * PACES[paceIndex];
    lastMs = nowMs;
    if (passesGate(shown.data, cursorS, to)) onGate();
    moveTo(to);
    if (cursorS >= span().toS) set(false);
    else requestAnimationFrame(step);
  }

  const toggle = () => {
    if (!playing && cursorS >= span().toS - 0.01) moveTo(span().fromS);
    set(!playing);
  };
  const pace = (index: number) => {
    paceIndex = index;
    setText(paceWord, `Pace ${PACES[index]}\u00d7`);
  };
  play.addEventListener("click", toggle);
  paceButton.addEventListener("click", () => pace((paceIndex + 1) % PACES.length));

  return {
    element: el("div", { class: "player" }, play, scrubber.element, paceButton),
    show(data, scales, span) {
      const same = shown?.data.view.run.uid === data.view.run.uid;
      shown = { data, scales, span };
      if (!same) set(false);
      moveTo(same ? cursorS : 0);
    },
    cursorS: () => cursorS,
    moveTo,
    toggle,
    stop: () => set(false),
    pace,
  };
}
