/**
 * Compare: the verdict in two sentences, what speaks against it, every value, drift, one typical print a group, and what to try next as a hint.
 * What cannot be compared is said with its remedy. Runs are set aside by a person with a note, and taken back; nothing is hidden.
 */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import { shownDifference, shownRuns } from "../../../shared/draw/shown-difference.ts";
import type { StripsNow } from "../../figures/strip-charts.ts";
import { el } from "../../screen/dom.ts";
import { gateName } from "../../screen/format.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createCompareChoice } from "./compare-choice.ts";
import { createCompareFigures } from "./compare-figures.ts";
import { createCompareHead } from "./compare-head.ts";

type Asked = RequestArgument<"compare.read">;

/** What the strips show of an answer; null where nothing can be compared. */
function stripsOf(view: CompareView | null, pairAt: number, adjusted: boolean): StripsNow | null {
  const pair = view?.pairs[pairAt];
  if (view === null || pair === undefined) return null;
  return { pair, runs: shownRuns(pair, view.driven), difference: shownDifference(pair, adjusted) };
}

export function createComparePage(frame: Frame): Page {
  let asked: Asked = {};
  let view: CompareView | null = null;
  let pairAt = 0;
  let adjusted = false;
  let visible = false;
  const now = () => (visible ? stripsOf(view, pairAt, adjusted) : null);
  const head = createCompareHead(frame, nextGate);
  const figures = createCompareFigures({ frame, now, head, turnAdjusted });
  const choice = createCompareChoice(frame.keys, compareGroups, (at) => {
    pairAt = at;
    render();
  });
  const toRuns = el("button", { type: "button", class: "solid" }, "Go to Runs");
  toRuns.addEventListener("click", () => frame.go("runs"));
  const empty = el("div", { class: "buttons", hidden: true }, toRuns);

  async function load(): Promise<void> {
    view = await frame.bridge.request("compare.read", asked);
    pairAt = Math.min(pairAt, Math.max(0, view.pairs.length - 1));
    render();
  }

  function render(): void {
    if (view === null || !visible) return;
    const shown = now();
    figures.element.hidden = shown === null;
    empty.hidden = shown !== null;
    choice.show(view, pairAt);
    head.show(view, shown?.pair ?? null);
    if (shown !== null) figures.show(view, shown, adjusted);
  }

  function ask(next: Asked): Promise<void> {
    asked = next;
    frame.compared.asked = next;
    return load().catch(frame.fail);
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
    element: el("div", { class: "page compare" }, head.sentence, choice.element, ...head.against, figures.element, empty),
    acts: {
      "compare.gate": nextGate,
      "compare.aside": () => void figures.picked.review(false),
      "compare.takeBack": () => void figures.picked.review(true),
      "compare.adjust": turnAdjusted,
      "compare.warnings": head.turnWarnings,
      "compare.report": () => frame.go("report"),
      "compare.lost": () => frame.go("lost"),
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
      if (visible) load().catch(frame.fail);
    },
  };
}
