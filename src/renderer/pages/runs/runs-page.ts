/** Runs: the shelf, one run's open seam with its replay, readouts and gates, and the edits that each can be undone. A run that cannot be read says why. */
import { el, replaceContent } from "../../screen/dom.ts";
import { hint } from "../../screen/key-hints.ts";
import type { ActionName } from "../../screen/key-map.ts";
import { postName } from "../../screen/format.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { createPlayer } from "./player.ts";
import { createReadouts } from "./readouts.ts";
import { createRunEdits, type RunEdits } from "../../edits/run-edits.ts";
import { createRunData, launchWindow, type RunData } from "./run-data.ts";
import { keepPicked, keptPick } from "./picked-run.ts";
import { runDays } from "./run-days.ts";
import { differenceWords } from "./run-difference.ts";
import { createRunFigure } from "./run-figure.ts";
import { showRunLost } from "./run-lost.ts";
import { runNotes } from "./run-notes.ts";
import { createRunTools } from "./run-tools.ts";
import { runSentence, runTable } from "./run-words.ts";
import { createShelf } from "./shelf.ts";

const SAMPLE_S = 0.01;
const GESTURES =
  "In the figure, a press or a drag of the mouse moves the cursor, the wheel zooms where it points, and with Shift moves the run sideways. One finger moves the run, two zoom, a still one sets the cursor.";
const PACE_ACTIONS = ["runs.pace1", "runs.pace2", "runs.pace3", "runs.pace4", "runs.pace5"] as const satisfies readonly ActionName[];

export function createRunsPage(frame: Frame): Page {
  const button = (word: string, action: ActionName, act: () => unknown, with_ = "") => {
    const made = el("button", { type: "button" }, word, hint(frame.keys, action, with_));
    made.addEventListener("click", act);
    return made;
  };
  let selected: number | null = null;
  let data: RunData | null = null;
  let reference: RunData | null = null;
  let visible = false;
  let shelved: readonly unknown[] = [];
  const shelf = createShelf((id) => select(id));
  const figure = createRunFigure((timeS) => player.moveTo(timeS));
  const readouts = createReadouts();
  const player = createPlayer({
    keys: frame.keys,
    onMove(timeS) {
      figure.cursor(timeS);
      showReadings(timeS);
    },
    onGate: () => frame.cues.play("gate"),
  });
  const title = el("h1");
  const dayButton = (word: string, key: string, step: number) => {
    const made = el("button", { type: "button" }, word, el("kbd", {}, key));
    made.addEventListener("click", () => otherDay(step));
    return made;
  };
  const dayWord = el("span", {});
  const dayBar = el(
    "div",
    { class: "day-bar small", hidden: true },
    dayWord,
    dayButton("Before", "PgUp", -1),
    dayButton("After", "PgDn", 1),
  );
  const notes = el("ul", { class: "notes" });
  const edits = createRunEdits(frame);
  const editing = (name: keyof RunEdits) => () => {
    const run = row();
    if (run !== undefined) edits[name](run).catch(frame.fail);
  };
  const aside = button("Set aside", "runs.aside", editing("review"));
  const align = () => {
    if (!laidOver()) return frame.announce("Nothing lies over this run: Overlay first");
    figure.nextAlign();
    const at = figure.aligned();
    frame.announce(`Aligned at ${at === null ? "the start" : postName(at)}`);
    render();
    showReadings(player.cursorS());
  };
  const alignButton = button("Align", "runs.align", align);
  const pressed = (made: HTMLElement, on: boolean) => made.setAttribute("aria-pressed", String(on));
  const toggleOpen = () => (laidOver() ? frame.announce("Slip only: of one run alone") : pressed(openButton, !figure.toggleOpen()));
  const toggleAxis = () => {
    pressed(axisButton, figure.toggleAxis());
    showReadings(player.cursorS());
  };
  const openButton = button("Slip only", "runs.open", toggleOpen);
  const axisButton = button("Distance", "runs.axis", toggleAxis);
  const lost = () => showRunLost(frame, selected).catch(frame.fail);
  const overlayButton = button("Overlay", "runs.overlay", () => overlay());
  const figureTools = el("div", { class: "buttons small tools" });
  const ways = createRunTools(frame, {
    name: () => (laidOver() ? `run-${selected}-over-${reference?.view.run.id}` : `run-${selected}`),
    title: () => `${frame.car()}: ${title.textContent}`,
    picture: () => figure.picture(),
    table: () => (data === null ? null : runTable(data, laidOver() ? figure.overlayColumns() : null)),
  });
  const body = el(
    "div",
    { class: "run-body" },
    el("div", {}, figure.element, player.element, figureTools),
    el(
      "div",
      { class: "run-aside" },
      el("div", { class: "values", tabindex: 0, role: "region", "aria-label": "Values, gates and notes" }, readouts.element, notes),
      el(
        "div",
        { class: "buttons edits" },
        button("Label", "runs.label", editing("label")),
        button("Note", "runs.note", editing("note")),
        button("Conditions", "runs.conditions", editing("conditions")),
        aside,
      ),
      el("p", { class: "at-laptop" }, "Label, note and set aside at the laptop"),
    ),
  );
  const toDrive = el("button", { type: "button", class: "solid" }, "Go to Drive");
  toDrive.addEventListener("click", () => frame.go("drive"));
  const empty = el(
    "div",
    { class: "empty", hidden: true },
    el("h2", { class: "lead" }, "No run in this book yet. The first launch you drive stands here."),
    toDrive,
  );
  const element = el("div", { class: "page runs" }, el("div", { class: "runs-head" }, title, dayBar), shelf.element, body, empty);

  const row = () => frame.runs().find((run) => run.id === selected);
  /** Both runs are there, and are not the same. */
  const laidOver = () => data !== null && data.view.run.id === selected && reference !== null && reference.view.run.id !== selected;
  const showReadings = (timeS: number) => {
    const reading = figure.reading(timeS);
    if (reading !== null) readouts.at(reading);
  };

  async function load(id: number): Promise<void> {
    const [view, columns] = await Promise.all([
      frame.bridge.request("run.show", { run: id }),
      frame.bridge.request("run.columns", { run: id }),
    ]);
    if (id !== selected) return;
    data = createRunData(view, columns);
    render();
  }

  function select(id: number): void {
    if (id !== selected) {
      player.stop();
      ways.said.textContent = "";
    }
    selected = id;
    // Asked before the page is drawn anew: the answer is under way meanwhile.
    load(id).catch(frame.fail);
    keepPicked(id);
    render();
  }

  function render(): void {
    const runs = frame.runs();
    const current = row();
    empty.hidden = runs.length > 0;
    body.hidden = current === undefined;
    const both = laidOver();
    const waiting = reference !== null && reference.view.run.id === selected;
    if (current === undefined) title.textContent = "Runs";
    else if (both) title.textContent = differenceWords(data as RunData, reference as RunData, figure.aligned());
    else title.textContent = waiting ? `Run ${current.id} stays: pick another run to lay over it.` : runSentence(current);
    if (!visible) return;
    const scales = dayScales(runs);
    const days = runDays(runs);
    const today = days.findIndex((one) => one.runs.some((run) => run.id === selected));
    // Opening a run must not wait for tiles that stand already.
    const shelfOf = [runs, days[today], document.documentElement.dataset.scheme, window.innerWidth, window.devicePixelRatio];
    if (shelfOf.some((part, i) => part !== shelved[i])) {
      shelved = shelfOf;
      shelf.render(days[today]?.runs ?? [], [...new Set(runs.map((run) => run.label))], scales);
    }
    shelf.mark({ selected, under: reference?.view.run.id ?? null });
    dayBar.hidden = days.length < 2;
    dayWord.textContent = `${days[today]?.word ?? ""}, day ${today + 1} of ${days.length}`;
    overlayButton.firstChild?.replaceWith(reference === null ? "Overlay" : `Over run ${reference.view.run.id}`);
    const place = figure.aligned();
    alignButton.firstChild?.replaceWith(`Align: ${place === null ? "start" : postName(place)}`);
    alignButton.hidden = !both;
    openButton.hidden = both;
    aside.firstChild?.replaceWith(current?.use === false ? "Take back" : "Set aside");
    const loaded = data !== null && data.view.run.id === selected;
    body.setAttribute("aria-busy", String(!loaded));
    if (current === undefined || data === null || !loaded) return;
    figure.show(data, scales);
    readouts.show(data);
    player.show(data, scales, launchWindow(data));
    replaceContent(
      notes,
      runNotes(current, data.view, (flag) => void edits.overrule(current, flag).catch(frame.fail)),
    );
  }

  /** To the first run of the day before or after. */
  const otherDay = (step: number) => {
    const days = runDays(frame.runs());
    const today = days.findIndex((one) => one.runs.some((run) => run.id === selected));
    const first = days[today + step]?.runs[0];
    if (today >= 0 && first !== undefined) select(first.id);
  };
  const beside = (step: number) => {
    const runs = frame.runs();
    const next = runs[runs.findIndex((run) => run.id === selected) + step];
    if (next !== undefined) select(next.id);
  };
  const nextGate = () => {
    const gates = (data?.view.gates ?? [])
      .filter((gate) => gate.start === "movement" && gate.seconds !== null)
      .map((gate) => gate.seconds as number);
    gates.sort((a, b) => a - b);
    player.moveTo(gates.find((at) => at > player.cursorS() + 0.001) ?? gates[0] ?? 0);
  };
  /** The first press keeps this run as the one to compare with; the next lets it go. */
  const overlay = () => {
    reference = reference === null ? data : null;
    figure.over(reference);
    frame.announce(reference === null ? "One run alone" : `Pick the run to lay over run ${reference.view.run.id}`);
    render();
  };
  const addLine = (step: number) => {
    frame.announce(figure.nextLine(step) ?? "No further line");
    showReadings(player.cursorS());
  };

  figureTools.append(
    openButton,
    axisButton,
    button("Add line", "runs.line", () => addLine(1)),
    overlayButton,
    alignButton,
    button("Time lost", "runs.lost", lost),
    ways.element,
    ways.said,
  );

  return {
    name: "runs",
    title: "Runs",
    gestures: GESTURES,
    element,
    acts: {
      "runs.play": () => player.toggle(),
      ...Object.fromEntries(PACE_ACTIONS.map((action, i) => [action, () => player.pace(i)])),
      "runs.back": (event) => player.moveTo(player.cursorS() - (event.shiftKey ? 0.1 : SAMPLE_S)),
      "runs.ahead": (event) => player.moveTo(player.cursorS() + (event.shiftKey ? 0.1 : SAMPLE_S)),
      "runs.start": () => player.moveTo(Number.NEGATIVE_INFINITY),
      "runs.end": () => player.moveTo(Number.POSITIVE_INFINITY),
      "runs.dayBefore": () => otherDay(-1),
      "runs.dayAfter": () => otherDay(1),
      "runs.before": () => beside(-1),
      "runs.after": () => beside(1),
      "runs.zoomIn": () => figure.zoomBy(1 / 1.5),
      "runs.zoomOut": () => figure.zoomBy(1.5),
      "runs.zoomWhole": () => figure.zoomWhole(),
      "runs.gate": nextGate,
      "runs.open": toggleOpen,
      "runs.lost": lost,
      "runs.axis": toggleAxis,
      "runs.line": (event) => addLine(event.shiftKey ? -1 : 1),
      "runs.overlay": overlay,
      "runs.align": align,
      "runs.save": (event) => (event.shiftKey ? ways.svg() : ways.png()),
      "runs.copy": ways.copy,
      "runs.label": editing("label"),
      "runs.note": editing("note"),
      "runs.conditions": editing("conditions"),
      "runs.aside": editing("review"),
    },
    shown() {
      visible = true;
      const first = frame.runs().find(({ id }) => id === keptPick()) ?? frame.runs().at(-1);
      if (selected === null && first !== undefined) select(first.id);
      else {
        render();
        // Another page may have changed it meanwhile: its gates, or whether it counts.
        if (selected !== null) load(selected).catch(frame.fail);
      }
    },
    hidden() {
      visible = false;
      player.stop();
    },
    onEvent(event) {
      // A run that was just driven is what both will look at next; one that was edited elsewhere is not.
      if (event.event === "runStored" && !visible && !frame.runs().some(({ id }) => id === event.run.id)) {
        selected = null;
        keepPicked(null);
      }
    },
    changed() {
      const newest = frame.runs().at(-1);
      if (visible && selected === null && newest !== undefined) select(newest.id);
      else if (selected !== null && visible) load(selected).catch(frame.fail);
      render();
    },
  };
}
