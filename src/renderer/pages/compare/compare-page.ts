/**
 * Compare: the verdict in two sentences, warnings, every value, drift, one typical print a group, and a hint what to try next. What cannot
 * be compared is explained with its remedy. A person can set runs aside with a note and use them again; nothing is hidden.
 */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import { markOf } from "../../../shared/draw/group-mark.ts";
import { shownDifference, shownRuns } from "../../../shared/draw/shown-difference.ts";
import type { StripsNow } from "../../figures/strip-charts.ts";
import { el } from "../../screen/dom.ts";
import { gateName } from "../../screen/format.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createCompareChoice } from "./compare-choice.ts";
import { createRunChoice } from "./compare-only.ts";
import { createCompareFigures } from "./compare-figures.ts";
import { createResponseSection } from "./response-section.ts";
import { createCompareHead } from "./compare-head.ts";

type Asked = RequestArgument<"compare.read">;

/** The strips' data from an answer; null where nothing can be compared. */
function stripsOf(view: CompareView | null, pairAt: number, adjusted: boolean, groups: readonly string[]): StripsNow | null {
  const pair = view?.pairs[pairAt];
  if (view === null || pair === undefined) return null;
  const marks = [markOf(groups, pair.a.label), markOf(groups, pair.b.label)] as const;
  return { pair, marks, runs: shownRuns(pair, view.driven), difference: shownDifference(pair, adjusted) };
}

/** Where nothing can be compared yet. */
function createEmpty(frame: Frame): HTMLElement {
  const toRuns = el("button", { type: "button", class: "solid" }, "Go to Runs");
  toRuns.addEventListener("click", () => frame.go("runs"));
  return el("div", { class: "buttons", hidden: true }, toRuns);
}

export function createComparePage(frame: Frame): Page {
  let asked: Asked = {};
  let view: CompareView | null = null;
  let pairAt = 0;
  let [adjusted, visible] = [false, false];
  const now = () => (visible ? stripsOf(view, pairAt, adjusted, frame.groups()) : null);
  const runChoice = createRunChoice(frame, () => asked, ask);
  const head = createCompareHead(frame, nextGate, runChoice["compare.only"]);
  const figures = createCompareFigures({ frame, now, head, turnAdjusted });
  const choice = createCompareChoice(frame.keys, compareGroups, (at) => {
    pairAt = at;
    render();
  });
  const response = createResponseSection(frame);
  const empty = createEmpty(frame);

  async function load(): Promise<void> {
    const [question, runs] = [asked, frame.runs()];
    const answer = await frame.bridge.request("compare.read", question);
    // Something else was asked for meanwhile, or the runs changed: that answer comes, or has come.
    if (question !== asked || runs !== frame.runs()) return;
    view = answer;
    pairAt = Math.min(pairAt, Math.max(0, view.pairs.length - 1));
    render();
    await response.ask(view.gate, view.where);
  }

  function render(): void {
    if (view === null || !visible) return;
    const shown = now();
    figures.element.hidden = shown === null;
    empty.hidden = shown !== null;
    choice.show(view, pairAt);
    head.show(view, shown?.pair ?? null);
    if (shown !== null) figures.show(view, shown, adjusted);
    response.paint();
  }

  /** What cannot be compared so is said, and leaves the question before. */
  function ask(next: Asked): Promise<void> {
    const before = asked;
    asked = next;
    frame.compared.asked = next;
    return load().catch((error: unknown) => {
      asked = before;
      frame.compared.asked = before;
      frame.fail(error);
    });
  }

  /** null: there is nothing to choose. */
  function compareGroups(groups: string[] | null): void {
    if (groups !== null) void ask({ ...asked, groups });
  }

  function nextGate(): void {
    const gates = view?.gates ?? [];
    const at = gates.findIndex((known) => known.gate === view?.gate && known.start === view.start);
    const next = gates[(at + 1) % gates.length];
    if (next === undefined) return;
    void ask({ ...asked, gate: next.gate, start: next.start }).then(() => frame.announce(`${gateName(next.gate)} from ${next.start}`));
  }

  function turnAdjusted(): void {
    if (now()?.pair.drift == null) return;
    adjusted = !adjusted;
    render();
  }

  function shown(): void {
    visible = true;
    if (view === null) {
      head.wait();
      figures.element.hidden = true;
    } else render();
    load().catch(frame.fail);
  }

  return {
    name: "compare",
    title: "Compare",
    element: el("div", { class: "page compare" }, head.sentence, choice.element, ...head.against, figures.element, response.element, empty),
    acts: {
      "compare.gate": nextGate,
      "compare.aside": () => void figures.picked.review(false),
      "compare.takeBack": () => void figures.picked.review(true),
      "compare.adjust": turnAdjusted,
      "compare.warnings": head.turnWarnings,
      "compare.test": response.test,
      "compare.report": () => frame.go("report"),
      "compare.lost": () => frame.go("lost"),
      ...runChoice,
      "compare.every": () => compareGroups(choice.every()),
      "compare.back": () => figures.picked.step(-1),
      "compare.ahead": () => figures.picked.step(1),
    },
    takes: (_, event) => !(event.target instanceof HTMLSelectElement),
    shown,
    hidden() {
      visible = false;
    },
    onEvent: () => undefined,
    changed() {
      if (visible) shown();
    },
  };
}
