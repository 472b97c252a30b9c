/**
 * Compare: the verdict in two sentences, what speaks against it, every value, drift, one typical print a group, and what to try next as a hint.
 * What cannot be compared is said with its remedy. Runs are set aside by a person with a note, and taken back; nothing is hidden.
 */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import { apart } from "../../../shared/judge/wording.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { ActionName } from "../../screen/key-map.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { changeTitle, gainTitle } from "../../figures/advice-words.ts";
import { dayScales } from "../../figures/drive-expectation.ts";
import { reviewRun } from "../../edits/run-edits.ts";
import { createCompareChoice } from "./compare-choice.ts";
import { createCompareStrips } from "./compare-strips.ts";
import { beside, driftWords, evidence, headline, warningWords } from "./compare-words.ts";
import { stripCharts } from "../../figures/strip-charts.ts";
import { shownDifference, type ShownRun, shownRuns } from "../../../shared/draw/shown-difference.ts";
import { createTypicalPrints, spokenRun } from "./typical-prints.ts";

const rename = (made: HTMLButtonElement, word: string) => setText(made.firstElementChild as Element, word);

export function createComparePage(frame: Frame): Page {
  let asked: RequestArgument<"compare.read"> = {};
  let view: CompareView | null = null;
  let pairAt = 0;
  let selected: number | null = null;
  let adjusted = false;
  let visible = false;
  /** The question that the hints answer. */
  let hintsOf = "";

  const button = (word: string, action: ActionName, act: () => void) => keyButton(frame.keys, word, action, act);
  const title = el("h1");
  const second = el("p", { class: "lead" });
  const gate = button("Gate", "compare.gate", () => nextGate());
  const aside = button("Set runs aside", "compare.aside", () => void review(false));
  const back = button("Take back", "compare.takeBack", () => void review(true));
  const adjust = button("Drift taken out", "compare.adjust", () => turnAdjusted());
  const report = button("Report", "compare.report", () => frame.go("report"));
  const strips = createCompareStrips((run) => choose(run));
  const choice = createCompareChoice(
    frame.keys,
    (groups) => void ask({ ...asked, groups }),
    (at) => {
      pairAt = at;
      render();
    },
  );
  const notes = createFold(frame.keys, "compare.warnings", "warning");
  const besideLine = el("p", { class: "small" });
  const chosen = el("p", { class: "small chosen", role: "status" });
  const drift = el("p", { class: "small" });
  const hints = el("div", { class: "hints small" });
  const toLost = keyButton(frame.keys, "Where the time went", "compare.lost", () => frame.go("lost"));
  const said = () => `${frame.car()}: ${title.textContent} ${second.textContent}`;
  const prints = createTypicalPrints(frame, () => `${frame.car()}: ${title.textContent}`);
  const charts = stripCharts(() => {
    const now = pair();
    return now === null ? null : { pair: now, runs: runsShown(), difference: shownDifference(now, adjusted) };
  }, said);
  const valueTools = createChartTools(frame, "every value", charts.values);
  const orderTools = createChartTools(frame, "the order driven", charts.order);
  const body = el(
    "div",
    { class: "compare-body" },
    el(
      "div",
      {},
      strips.values,
      el("div", { class: "picked" }, chosen, el("div", { class: "buttons" }, aside, back, valueTools.element)),
      prints.element,
    ),
    el(
      "div",
      { class: "compare-aside" },
      el(
        "section",
        {},
        el("div", { class: "figure-head" }, el("h2", {}, "What to try next"), el("span", { class: "quiet small" }, "a hint, not a result")),
        hints,
        el("div", { class: "buttons" }, toLost),
      ),
      el(
        "section",
        {},
        el("div", { class: "figure-head" }, el("h2", {}, "In the order driven"), orderTools.element),
        strips.order,
        drift,
        el("div", { class: "buttons" }, adjust),
      ),
    ),
  );
  const toRuns = el("button", { type: "button", class: "solid" }, "Go to Runs");
  toRuns.addEventListener("click", () => frame.go("runs"));
  const empty = el("div", { class: "buttons", hidden: true }, toRuns);
  const element = el(
    "div",
    { class: "page compare" },
    el("div", { class: "sentence" }, el("div", {}, title, second), el("div", { class: "beside" }, gate, report)),
    choice.element,
    notes.element,
    besideLine,
    body,
    empty,
  );

  const pair = () => view?.pairs[pairAt] ?? null;

  function runsShown(): ShownRun[] {
    const now = pair();
    return now === null || view === null ? [] : shownRuns(now, view.driven);
  }

  async function load(): Promise<void> {
    view = await frame.bridge.request("compare.read", asked);
    pairAt = Math.min(pairAt, Math.max(0, view.pairs.length - 1));
    render();
  }

  function choose(id: number | null): void {
    selected = id;
    const run = runsShown().find((known) => known.id === id);
    const now = pair();
    const label = now === null || run === undefined ? "" : (apart([now.a.label, now.b.label])[run.group] ?? "");
    setText(chosen, run === undefined ? "Click a run, or arrow keys" : spokenRun(run.id, label, run.seconds, run.aside));
    aside.setAttribute("aria-disabled", String(run === undefined || run.aside));
    back.setAttribute("aria-disabled", String(run === undefined || !run.aside));
    paint();
  }

  function paint(): void {
    const now = pair();
    if (visible && now !== null) strips.paint(now, runsShown(), shownDifference(now, adjusted), selected);
  }

  function everyPair(): void {
    const groups = choice.every();
    if (groups !== null) void ask({ ...asked, groups });
  }

  function render(): void {
    if (view === null || !visible) return;
    const now = pair();
    rename(gate, view.start === "1 ft" ? `${gateName(view.gate)} from 1 ft` : gateName(view.gate));
    body.hidden = now === null;
    empty.hidden = now !== null;
    besideLine.hidden = now === null || now.withAllRuns === null;
    gate.hidden = false;
    for (const made of [aside, back, adjust, report]) made.hidden = now === null;
    choice.show(view, pairAt);
    if (now === null) {
      notes.show([]);
      setText(title, "Nothing to compare yet.");
      setText(second, view.why ?? "");
      return;
    }
    setText(title, headline(now));
    setText(second, evidence(now));
    setText(besideLine, beside(now));
    notes.show(warningWords(now));
    adjust.setAttribute("aria-disabled", String(now.drift === null));
    adjust.setAttribute("aria-pressed", String(adjusted && now.drift !== null));
    rename(adjust, adjusted && now.drift !== null ? "As driven" : "Drift taken out");
    setText(drift, driftWords(now));
    const shown = [now.a.label, now.b.label];
    void tryNext(shown, view.gate);
    strips.describe(now, runsShown());
    const rows = frame.runs();
    prints.show(view, rows, shown, dayScales(rows));
    choose(runsShown().some((run) => run.id === selected) ? selected : null);
  }

  /** What Time lost advises on the groups shown; the comparison does not wait for it. */
  async function tryNext(groups: readonly string[], about: string): Promise<void> {
    const wanted = JSON.stringify([groups, about, frame.runs().length]);
    hintsOf = wanted;
    const tuned = await frame.bridge.request("tune.read", { groups: [...groups], gate: about }).catch((error: unknown) => {
      frame.fail(error);
      return null;
    });
    if (tuned === null || hintsOf !== wanted) return;
    const lines = tuned.advice.map((one) => el("p", {}, el("b", {}, `${one.group}. `), `${changeTitle(one)}: ${gainTitle(one)}.`));
    hints.replaceChildren(...(lines.length > 0 ? lines : tuned.silent.slice(0, 2).map((words) => el("p", {}, words))));
  }

  const ask = (next: RequestArgument<"compare.read">) => {
    asked = next;
    frame.compared.asked = next;
    return load().catch(frame.fail);
  };

  function nextGate(): void {
    if (view === null || view.gates.length === 0) return;
    const { gates } = view;
    const at = gates.findIndex((known) => known.gate === view?.gate && known.start === view.start);
    const next = gates[(at + 1) % gates.length] as (typeof gates)[number];
    void ask({ ...asked, gate: next.gate, start: next.start }).then(() => frame.announce(`${gateName(next.gate)} from ${next.start}`));
  }

  function turnAdjusted(): void {
    if (pair()?.drift == null) return;
    adjusted = !adjusted;
    render();
  }

  function step(by: number): void {
    const runs = runsShown();
    const at = runs.findIndex((run) => run.id === selected);
    const next = runs[at < 0 ? (by > 0 ? 0 : runs.length - 1) : Math.min(runs.length - 1, Math.max(0, at + by))];
    choose(next?.id ?? null);
  }

  async function review(use: boolean): Promise<void> {
    const run = runsShown().find((known) => known.id === selected);
    if (run === undefined || run.aside !== use)
      return frame.announce(use ? "Pick a run that is set aside" : "Pick a run with the arrow keys");
    const row = frame.runs().find(({ id }) => id === run.id);
    if (row !== undefined) await reviewRun(frame, row);
  }

  return {
    name: "compare",
    title: "Compare",
    element,
    acts: {
      "compare.gate": nextGate,
      "compare.aside": () => void review(false),
      "compare.takeBack": () => void review(true),
      "compare.adjust": turnAdjusted,
      "compare.warnings": () => notes.turn(),
      "compare.report": () => frame.go("report"),
      "compare.lost": () => frame.go("lost"),
      "compare.every": everyPair,
      "compare.back": () => step(-1),
      "compare.ahead": () => step(1),
    },
    takes: (_, event) => !(event.target instanceof HTMLSelectElement),
    shown() {
      visible = true;
      if (view === null) {
        setText(title, "Comparing the runs.");
        for (const part of [body, gate, report]) part.hidden = true;
      } else render();
      load().catch(frame.fail);
    },
    hidden() {
      visible = false;
    },
    onEvent: () => undefined,
    changed() {
      if (visible) load().catch(frame.fail);
    },
  };
}
