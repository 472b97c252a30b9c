/**
 * What can be done with a run's figure, by button and key: slip only, distance, a further line, another run on top, alignment at a gate,
 * where its time went; and saving.
 */
import { el, setText } from "../../screen/dom.ts";
import { postName } from "../../screen/format.ts";
import { hint } from "../../screen/key-hints.ts";
import type { ActionName } from "../../screen/key-map.ts";
import type { Frame, Page } from "../../screen/page.ts";
import type { RunFigure } from "./run-figure.ts";
import { showRunLost } from "./run-lost.ts";
import type { RunTools } from "./run-tools.ts";
import type { ShownRun } from "./shown-run.ts";

export interface FigureTools {
  readonly element: HTMLElement;
  readonly acts: Page["acts"];
  /** Updates words and buttons for the runs that are shown. */
  show(): void;
  /** The run or the page is left: nothing more is said of it, and no answer about it is awaited. */
  leave(): void;
}

export interface FigureToolsOptions {
  readonly frame: Frame;
  readonly shown: ShownRun;
  readonly figure: RunFigure;
  readonly ways: RunTools;
  /** Other runs are compared, or at another alignment. */
  onOverlay(): void;
  /** The cursor has other values. */
  onReading(): void;
}

export function createFigureTools({ frame, shown, figure, ways, onOverlay, onReading }: FigureToolsOptions): FigureTools {
  const button = (word: string, action: ActionName, act: () => unknown) => {
    const made = el("button", { type: "button" }, word, hint(frame.keys, action));
    made.addEventListener("click", () => void act());
    return made;
  };
  const pressed = (made: HTMLElement, on: boolean) => made.setAttribute("aria-pressed", String(on));

  const turnOpen = () => (shown.laidOver() ? frame.announce("Slip only: of one run alone") : pressed(open, !figure.toggleOpen()));
  const turnAxis = () => {
    pressed(axis, figure.toggleAxis());
    onReading();
  };
  const nextLine = (step: number) => {
    frame.announce(figure.nextLine(step) ?? "No further line");
    onReading();
  };
  /** The first press keeps this run for comparison; the next one releases it. */
  const turnOverlay = () => {
    if (shown.data() === null) return frame.announce(shown.waiting());
    const reference = shown.turnReference();
    figure.over(reference);
    frame.announce(reference === null ? "One run alone" : `Pick the run to lay over run ${reference.view.run.id}`);
    onOverlay();
  };
  const nextAlign = () => {
    if (!shown.laidOver()) return frame.announce("Nothing lies over this run: Overlay first");
    figure.nextAlign();
    const at = figure.aligned();
    frame.announce(`Aligned at ${at === null ? "the start" : postName(at)}`);
    onOverlay();
    onReading();
  };

  const open = button("Slip only", "runs.open", turnOpen);
  const axis = button("Distance", "runs.axis", turnAxis);
  const line = button("Add line", "runs.line", () => nextLine(1));
  const overlay = button("Overlay", "runs.overlay", turnOverlay);
  const align = button("Align", "runs.align", nextAlign);
  /** Grows with each question and each leaving: an answer is awaited while nothing came after its question. */
  let times = 0;
  const showLost = () => {
    times += 1;
    const mine = times;
    return showRunLost(frame, shown.id(), () => mine === times).catch(frame.fail);
  };
  const lost = button("Time lost", "runs.lost", showLost);
  return {
    element: el("div", { class: "buttons small tools" }, open, axis, line, overlay, align, lost, ways.element, ways.said),
    acts: {
      "runs.open": turnOpen,
      "runs.axis": turnAxis,
      "runs.line": (event) => nextLine(event.shiftKey ? -1 : 1),
      "runs.overlay": turnOverlay,
      "runs.align": nextAlign,
      "runs.lost": showLost,
      "runs.save": (event) => (event.shiftKey ? ways.svg() : ways.png()),
      "runs.copy": ways.copy,
    },
    show() {
      const reference = shown.reference();
      const place = figure.aligned();
      overlay.firstChild?.replaceWith(reference === null ? "Overlay" : `Over run ${reference.view.run.id}`);
      align.firstChild?.replaceWith(`Align: ${place === null ? "start" : postName(place)}`);
      align.hidden = !shown.laidOver();
      open.hidden = shown.laidOver();
    },
    leave() {
      times += 1;
      setText(ways.said, "");
    },
  };
}
