/**
 * Time lost: the grip curve, each group's losses by cause and by speed, and what to change next, one change at a time, each with the key
 * that proposes its test. What is unknown says why and what would help. Nothing is written to any controller.
 */
import type { Advice } from "../../../shared/tune/advise.ts";
import { lostHeadline, lostLead } from "../../../shared/tune/loss-words.ts";
import { createGripFigure } from "../../figures/grip-figure.ts";
import { createLossFigure } from "../../figures/loss-figure.ts";
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createAdviceList } from "./advice-list.ts";
import { createLostAnswer } from "./lost-answer.ts";
import { createSpinSection } from "./spin-section.ts";
import { curveOf, heldOn, lostNotes, onlyWords, shownGroup, shownLosses } from "./lost-shown.ts";

const LOOKING = "Looking where the time went.";
const NOT_FOUND = "Where the time went is not known.";

/** The page's elements; `test` proposes the test of a piece of advice. */
function createElements(frame: Frame, acts: { nextGate(): void; nextGroup(): void; again(): void; test(one: Advice): void }) {
  const title = el("h1");
  const second = el("p", { class: "lead" });
  const gate = keyButton(frame.keys, "Gate", "lost.gate", acts.nextGate);
  const group = keyButton(frame.keys, "Next group", "lost.group", acts.nextGroup);
  const notes = createFold(frame.keys, "lost.notes", "note");
  const spin = createSpinSection(frame);
  const grip = createGripFigure(frame);
  const losses = createLossFigure(frame, () => `${frame.car()}: ${title.textContent}`);
  const advice = createAdviceList(frame.keys, acts.test);
  const toRuns = el("button", { type: "button", class: "solid" }, "Go to Runs");
  toRuns.addEventListener("click", () => frame.go("runs"));
  const again = el("button", { type: "button", class: "solid" }, "Work it out");
  again.addEventListener("click", acts.again);
  const empty = el("div", { class: "buttons", hidden: true }, toRuns);
  const failed = el("div", { class: "buttons", hidden: true }, again);
  const body = el("div", { class: "lost-body" }, grip.element, losses.sums, losses.bySpeed);
  const asking = el("div", { class: "figure-head" }, second, el("div", { class: "buttons small" }, gate, group));
  const root = el(
    "div",
    { class: "page lost" },
    el("div", {}, title, asking),
    body,
    advice.element,
    notes.element,
    spin.element,
    empty,
    failed,
  );
  return { root, title, second, gate, group, notes, grip, losses, advice, spin, empty, failed, body };
}

export function createLostPage(frame: Frame): Page {
  /** Label of the group in the sentence and on the speed axis. */
  let label: string | null = null;
  let visible = false;
  const answer = createLostAnswer(frame, render);
  const elements = createElements(frame, { nextGate, nextGroup, again: shown, test });

  function render(): void {
    if (!visible) return;
    const [view, old] = [answer.view(), answer.old()];
    const waiting = answer.failed() ? NOT_FOUND : LOOKING;
    elements.failed.hidden = !answer.failed();
    if (view === null) {
      setText(elements.title, waiting);
      setText(elements.second, old ?? "");
      for (const part of [elements.gate, elements.group, elements.body, elements.advice.element, elements.spin.element]) part.hidden = true;
      return;
    }
    const now = shownGroup(view, label);
    const curve = curveOf(view, now);
    setText(elements.gate.firstElementChild as Element, gateName(view.gate));
    elements.gate.hidden = false;
    elements.group.hidden = view.groups.length < 2;
    elements.empty.hidden = view.car !== null;
    for (const part of [elements.body, elements.advice.element, elements.spin.element]) part.hidden = view.car === null;
    // A headline of the runs as they were would read like a result.
    setText(elements.title, old !== null ? waiting : now === null ? "No time is lost yet." : lostHeadline(now, gateName(now.gate)));
    elements.root.setAttribute("aria-busy", String(old !== null));
    setText(elements.second, old ?? [onlyWords(view.where), now === null ? "" : lostLead(now)].join(""));
    elements.grip.show(curve, heldOn(view, curve));
    elements.losses.show(shownLosses(view, now));
    elements.advice.show(view.advice, view.groups.length);
    elements.spin.about({ ...(now === null ? {} : { group: now.label }), gate: view.gate, where: [...view.where] });
    elements.notes.show(old === null ? lostNotes(view, curve) : []);
  }

  function nextGate(): void {
    const { gates = [], gate } = answer.view() ?? {};
    const next = gates[(gates.findIndex((known) => known.gate === gate) + 1) % gates.length];
    if (next === undefined) return;
    void answer
      .load(next.gate)
      .then(() => frame.announce(gateName(next.gate)))
      .catch(frame.fail);
  }

  function nextGroup(): void {
    const view = answer.view();
    const groups = view?.groups ?? [];
    const now = view === null ? null : shownGroup(view, label);
    if (now === null || groups.length < 2) return;
    label = groups[(groups.indexOf(now) + 1) % groups.length]?.label ?? null;
    render();
    frame.announce(elements.title.textContent ?? "");
  }

  function test({ test: { groups, runsPerGroup, gate: about }, expectedGainS }: Advice): void {
    const old = answer.old();
    if (old !== null) {
      frame.announce(old);
      return;
    }
    frame.proposed.test = { groups, runsPerGroup, gate: about, hopedS: expectedGainS.value };
    frame.go("plan");
  }

  function testAt(i: number): void {
    const one = answer.view()?.advice[i];
    if (one === undefined) frame.announce(answer.old() ?? "There is no such advice");
    else test(one);
  }

  function shown(): void {
    visible = true;
    answer.load().catch(frame.fail);
    render();
  }

  return {
    name: "lost",
    title: "Time lost",
    element: elements.root,
    acts: {
      "lost.gate": nextGate,
      "lost.group": nextGroup,
      "lost.first": () => testAt(0),
      "lost.second": () => testAt(1),
      "lost.third": () => testAt(2),
      "lost.spin": () => elements.spin.turn(),
      "lost.notes": () => elements.notes.turn(),
    },
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
