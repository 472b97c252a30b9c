/**
 * Time lost: the grip curve, where each group's time went by cause and by speed, and what to change next, one change at a time, each with the key that
 * draws up its test. What cannot be told says why and what would help. Nothing is written to any controller.
 */
import type { RequestArgument } from "../../../shared/contract/contract.ts";
import type { TuneView } from "../../../shared/contract/tune-views.ts";
import type { Advice } from "../../../shared/tune/advise.ts";
import type { AdvisedGroup } from "../../../shared/tune/advised-group.ts";
import type { GripCurve } from "../../../shared/tune/grip-curve.ts";
import { apart } from "../../../shared/judge/wording.ts";
import { lostHeadline, lostLead, secondsByCause, toldBands, toldLosses } from "../../../shared/tune/loss-words.ts";
import { createGripFigure } from "../../figures/grip-figure.ts";
import { createLossFigure, type ShownLosses } from "../../figures/loss-figure.ts";
import { el, setText } from "../../screen/dom.ts";
import { createFold } from "../../screen/fold.ts";
import { gateName } from "../../screen/format.ts";
import { keyButton } from "../../screen/key-hints.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { createAdviceList } from "./advice-list.ts";

const rename = (made: HTMLButtonElement, word: string) => setText(made.firstElementChild as Element, word);

export function createLostPage(frame: Frame): Page {
  let asked: RequestArgument<"tune.read"> = {};
  let view: TuneView | null = null;
  /** Label of the group in the sentence and along the speed axis. */
  let label: string | null = null;
  let visible = false;

  const title = el("h1");
  const second = el("p", { class: "lead" });
  const gate = keyButton(frame.keys, "Gate", "lost.gate", () => nextGate());
  const group = keyButton(frame.keys, "Next group", "lost.group", () => nextGroup());
  const notes = createFold(frame.keys, "lost.notes", "note");
  const grip = createGripFigure(frame);
  const losses = createLossFigure(frame, () => `${frame.car()}: ${title.textContent}`);
  const advice = createAdviceList(frame.keys, (one) => test(one));
  const toRuns = el("button", { type: "button", class: "solid" }, "Go to Runs");
  toRuns.addEventListener("click", () => frame.go("runs"));
  const empty = el("div", { class: "buttons", hidden: true }, toRuns);
  const body = el("div", { class: "lost-body" }, grip.element, losses.sums, losses.bySpeed);
  const asking = el("div", { class: "figure-head" }, second, el("div", { class: "buttons small" }, gate, group));
  const element = el("div", { class: "page lost" }, el("div", {}, title, asking), body, advice.element, notes.element, empty);

  const told = () => view?.groups.filter((one) => toldLosses(one).length > 0) ?? [];
  /** The one chosen, else the first that advice speaks of, else the last. */
  function current(): AdvisedGroup | null {
    const groups = view?.groups ?? [];
    const advised = view?.advice[0]?.group;
    return (
      groups.find((one) => one.label === label) ?? groups.find((one) => one.label === advised) ?? told().at(-1) ?? groups.at(-1) ?? null
    );
  }

  function curveOf(now: AdvisedGroup | null): GripCurve | null {
    const curves = view?.grip ?? [];
    return curves.find((curve) => now?.runs.some((run) => curve.runs.includes(run))) ?? curves[0] ?? null;
  }

  function shownLosses(now: AdvisedGroup): ShownLosses | null {
    const groups = told();
    if (!groups.includes(now)) return null;
    return {
      bars: groups.map((one) => ({ name: one.label, seconds: secondsByCause(toldLosses(one)) })),
      selected: groups.indexOf(now),
      losses: toldLosses(now),
      bands: toldBands(now),
      atLeast: now.atLeast !== null,
    };
  }

  function render(): void {
    if (view === null || !visible) return;
    const now = current();
    const curve = curveOf(now);
    const names = view.groups.length > 1 ? apart(view.groups.map((one) => one.label)) : ["it"];
    rename(gate, gateName(view.gate));
    group.hidden = view.groups.length < 2;
    empty.hidden = view.car !== null;
    for (const part of [body, advice.element]) part.hidden = view.car === null;
    setText(title, now === null ? "No time is lost yet." : lostHeadline(now, gateName(now.gate)));
    setText(second, now === null ? "" : lostLead(now));
    grip.show(
      curve,
      view.groups.flatMap((one, i) =>
        one.control.holdsSlipAt === null || curveOf(one) !== curve
          ? []
          : [
              {
                name: `${names[i] ?? one.label} holds ${(100 * one.control.holdsSlipAt.value).toFixed(1)} %`,
                slip: one.control.holdsSlipAt.value,
              },
            ],
      ),
    );
    losses.show(now === null ? null : shownLosses(now));
    advice.show(view.advice, view.groups.length);
    notes.show([
      ...view.silent,
      ...(view.car?.torqueCheck?.disagree === true ? [`${view.car.torqueCheck.words}.`] : []),
      ...(curve?.notes ?? []),
      ...(view.car?.notes ?? []),
    ]);
  }

  async function load(): Promise<void> {
    view = await frame.bridge.request("tune.read", asked);
    render();
  }

  function nextGate(): void {
    if (view === null || view.gates.length === 0) return;
    const { gates } = view;
    const next = gates[(gates.findIndex((known) => known.gate === view?.gate) + 1) % gates.length];
    if (next === undefined) return;
    asked = { ...asked, gate: next.gate };
    void load()
      .then(() => frame.announce(gateName(next.gate)))
      .catch(frame.fail);
  }

  function nextGroup(): void {
    const groups = view?.groups ?? [];
    const now = current();
    if (now === null || groups.length < 2) return;
    label = groups[(groups.indexOf(now) + 1) % groups.length]?.label ?? null;
    render();
    frame.announce(title.textContent ?? "");
  }

  function test({ test: { groups, runsPerGroup, gate: about }, expectedGainS }: Advice): void {
    frame.proposed.test = { groups, runsPerGroup, gate: about, hopedS: expectedGainS.value };
    frame.go("plan");
  }

  const testAt = (i: number) => {
    const one = view?.advice[i];
    if (one === undefined) frame.announce("There is no such advice");
    else test(one);
  };

  return {
    name: "lost",
    title: "Time lost",
    element,
    acts: {
      "lost.gate": nextGate,
      "lost.group": nextGroup,
      "lost.first": () => testAt(0),
      "lost.second": () => testAt(1),
      "lost.third": () => testAt(2),
      "lost.notes": () => notes.turn(),
    },
    shown() {
      visible = true;
      if (view === null) {
        setText(title, "Looking where the time went.");
        for (const part of [body, advice.element]) part.hidden = true;
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
