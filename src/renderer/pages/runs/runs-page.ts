/**
 * Runs: the row of prints, one run's open seam with its replay, values and gates, and its edits, each of which can be undone. A run that
 * cannot be read says why.
 */
import { heldMarks } from "../../../shared/draw/held-marks.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { el, setText } from "../../screen/dom.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createDayShelf } from "./day-shelf.ts";
import { createFigureTools } from "./figure-tools.ts";
import { createPlayer } from "./player.ts";
import { playerKeys } from "./player-keys.ts";
import { createRunAside } from "./run-aside.ts";
import { launchWindow } from "./run-data.ts";
import { differenceWords } from "./run-difference.ts";
import { createRunFigure, type RunFigure } from "./run-figure.ts";
import { createRunTools } from "./run-tools.ts";
import { runSentence, runTable } from "./run-words.ts";
import { createShownRun, type ShownRun } from "./shown-run.ts";

const GESTURES =
  "In the figure, a press or a drag of the mouse moves the cursor, the wheel zooms where it points, and with Shift moves the run sideways. One finger moves the run, two zoom, a still one sets the cursor.";

function titleOf(shown: ShownRun, aligned: string | null): string {
  const [run, data, reference] = [shown.row(), shown.data(), shown.reference()];
  if (run === undefined) return "Runs";
  if (shown.laidOver() && data !== null && reference !== null) return differenceWords(data, reference, aligned);
  return reference?.view.run.id === run.id ? `Run ${run.id} stays: pick another run to lay over it.` : runSentence(run);
}

function createEmpty(toDrive: () => void): HTMLElement {
  const button = el("button", { type: "button", class: "solid" }, "Go to Drive");
  button.addEventListener("click", toDrive);
  const words = el("h2", { class: "lead" }, "No run in this book yet. The first launch you drive stands here.");
  return el("div", { class: "empty", hidden: true }, words, button);
}

/** Saving the figure, named and titled after what it shows. */
function createWays(frame: Frame, { shown, figure, title }: { shown: ShownRun; figure: RunFigure; title: HTMLElement }) {
  return createRunTools(frame, {
    name: () => (shown.laidOver() ? `run-${shown.id()}-over-${shown.reference()?.view.run.id}` : `run-${shown.id()}`),
    title: () => `${frame.car()}: ${title.textContent}`,
    picture: () => (shown.data() === null ? null : figure.picture()),
    table() {
      const data = shown.data();
      return data === null ? null : runTable(data, shown.laidOver() ? figure.overlayColumns() : null);
    },
  });
}

export function createRunsPage(frame: Frame): Page {
  let visible = false;
  const title = el("h1");
  const shown = createShownRun({ frame, onLeave, onPick: render, onLoad: render });
  const days = createDayShelf(frame, shown.pick, () => render());
  const figure = createRunFigure((timeS) => player.moveTo(timeS));
  const player = createPlayer({ keys: frame.keys, onMove: showAt, onGate: () => frame.cues.play("gate") });
  const ways = createWays(frame, { shown, figure, title });
  const tools = createFigureTools({ frame, shown, figure, ways, onOverlay: render, onReading: () => showReadings(player.cursorS()) });
  const aside = createRunAside({ frame, shown, chosen: days.chosen, onMoment: (atS) => player.moveTo(atS) });
  const waiting = el("p", { class: "waiting quiet" });
  const body = el("div", { class: "run-body" }, el("div", {}, waiting, figure.element, player.element, tools.element), aside.element);
  const empty = createEmpty(() => frame.go("drive"));

  const head = el("div", { class: "runs-head" }, title, days.key, days.bar);

  function showReadings(timeS: number): void {
    const reading = figure.reading(timeS);
    if (reading !== null) aside.at(reading);
  }

  function showAt(timeS: number): void {
    figure.cursor(timeS);
    showReadings(timeS);
  }

  function onLeave(): void {
    player.stop();
    tools.leave();
  }

  /** The fit behind the marks takes its time: they come once it is there. */
  function markHeld(run: number): void {
    frame.bridge
      .request("tune.run", { run })
      .then(({ interventions, movementS }) => {
        if (run === shown.id() && movementS !== null) figure.marks(heldMarks(interventions, movementS));
      })
      .catch(frame.fail);
  }

  function render(): void {
    empty.hidden = frame.runs().length > 0;
    body.hidden = shown.row() === undefined;
    setText(title, titleOf(shown, figure.aligned()));
    if (!visible) return;
    days.show(shown.id(), shown.reference()?.view.run.id ?? null);
    // A long sentence takes its second line from the figure, not from the buttons under it; so does the bar of chosen runs.
    document.documentElement.style.setProperty("--runs-head", `${head.clientHeight + days.chosen.bar.clientHeight}px`);
    tools.show();
    const data = shown.data();
    body.setAttribute("aria-busy", String(data === null));
    setText(waiting, shown.waiting());
    aside.show();
    if (shown.row() === undefined || data === null) return;
    const scales = dayScales(frame.runs());
    figure.show(data, scales);
    markHeld(data.view.run.id);
    player.show(data, scales, launchWindow(data));
  }

  return {
    name: "runs",
    title: "Runs",
    gestures: GESTURES,
    element: el("div", { class: "page runs" }, head, days.shelf, days.chosen.bar, body, empty),
    acts: {
      ...playerKeys(player, shown.data),
      ...tools.acts,
      ...aside.acts,
      ...days.chosen.acts,
      "runs.find": () => void days.find(),
      "runs.dayBefore": () => days.otherDay(-1),
      "runs.dayAfter": () => days.otherDay(1),
      "runs.before": () => shown.pickBeside(-1),
      "runs.after": () => shown.pickBeside(1),
      "runs.zoomIn": () => figure.zoomBy(1 / 1.5),
      "runs.zoomOut": () => figure.zoomBy(1.5),
      "runs.zoomWhole": () => figure.zoomWhole(),
    },
    shown() {
      visible = true;
      if (shown.pickFirst()) return;
      render();
      // Another page may have changed it meanwhile: its gates, or whether it counts.
      shown.load();
    },
    hidden() {
      visible = false;
      onLeave();
    },
    cancel: days.chosen.end,
    onEvent(event) {
      // A run just driven is shown next, as both people want to see it; a run edited elsewhere is not.
      if (event.event === "runStored" && !visible && !frame.runs().some(({ id }) => id === event.run.id)) shown.forget();
    },
    changed() {
      if (visible && !shown.pickFirst()) shown.load();
      render();
    },
  };
}
