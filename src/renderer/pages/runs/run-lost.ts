/**
 * Where one run's time went, shown over the page: the grip curve of its surface, its losses by cause and by speed. What is unknown says
 * why. Closes with Esc. The answer takes its time: one that nobody waits for any more is dropped.
 */
import type { RunTuneView } from "../../../shared/contract/tune-views.ts";
import { addingUp, CAUSE_WORDS } from "../../../shared/tune/loss-words.ts";
import { INTERVENTION_HEADS, interventionRows } from "../../../shared/tune/control-words.ts";
import { LOSS_CAUSES, type LossCause } from "../../../shared/tune/losses.ts";
import { createGripFigure } from "../../figures/grip-figure.ts";
import { createLossFigure, type ShownLosses } from "../../figures/loss-figure.ts";
import { openDialog, submit } from "../../screen/dialogs.ts";
import { el } from "../../screen/dom.ts";
import { gateName, quantity } from "../../screen/format.ts";
import type { Frame } from "../../screen/page.ts";
import { units } from "../../screen/units.ts";

/** A single run has no interval: that of its group is on Time lost. */
const figures = (sums: Readonly<Record<LossCause, number>>) =>
  LOSS_CAUSES.map((cause) => ({ cause, seconds: sums[cause], plusMinus95: null }));

function shown({ run, losses }: RunTuneView): ShownLosses | null {
  if (losses === null) return null;
  const { name, bandStep, perKmh } = units();
  return {
    bars: [{ name: `Run ${run}`, seconds: losses.losses }],
    selected: 0,
    losses: addingUp(figures(losses.losses), losses.seconds, losses.quickest),
    bands: (name === "mph" ? losses.mphBands : losses.bands).map((sums, i) => ({
      fromKmh: (i * bandStep) / perKmh,
      toKmh: ((i + 1) * bandStep) / perKmh,
      losses: figures(sums),
    })),
    atLeast: false,
  };
}

function sentence({ run, gate, losses, why }: RunTuneView): string {
  if (losses === null) return `Where run ${run} lost its time cannot be told. ${why ?? ""}`;
  const [worst = "rest"] = [...LOSS_CAUSES].sort((a, b) => losses.losses[b] - losses.losses[a]);
  const told = addingUp(figures(losses.losses), losses.seconds, losses.quickest);
  const lost = told.reduce((sum, { seconds }) => sum + seconds, 0);
  const most = told.find(({ cause }) => cause === worst)?.seconds ?? 0;
  return `Run ${run} loses ${quantity(lost, "s", 2)}, ${gateName(gate)}; ${quantity(most, "s", 2)} of it ${CAUSE_WORDS[worst]}. ${quantity(losses.seconds, "s", 2)} driven, ${quantity(losses.quickest, "s", 2)} possible with this tyre, torque and power.`;
}

/** Each time torque was held back; nothing where it never was. */
function heldTable({ interventions, movementS, controlWhy }: RunTuneView): HTMLElement[] {
  if (movementS === null || interventions.length === 0) return [];
  const head = el("tr", {}, ...INTERVENTION_HEADS.map((words) => el("th", { scope: "col" }, words)));
  const rows = interventionRows(interventions, movementS, units()).map((cells) =>
    el("tr", {}, ...cells.map((cell, i) => el("td", { "data-head": INTERVENTION_HEADS[i] ?? "" }, cell))),
  );
  return [
    el("table", { class: "held-back" }, el("caption", {}, "Torque held back"), el("thead", {}, head), el("tbody", {}, ...rows)),
    ...controlWhy.map((words) => el("p", {}, words)),
  ];
}

/** `isAwaited`: whether the page and its run are still those that it was asked for. */
export async function showRunLost(
  frame: Pick<Frame, "bridge" | "announce" | "fail" | "car">,
  run: number | null,
  isAwaited: () => boolean,
): Promise<void> {
  if (run === null) return frame.announce("Pick a run first");
  const view = await frame.bridge.request("tune.run", { run });
  if (!isAwaited()) return;
  const words = sentence(view);
  const grip = createGripFigure(frame);
  const losses = createLossFigure(frame, () => `${frame.car()}: ${words}`);
  const dialog = el(
    "dialog",
    { "aria-label": `Time lost of run ${run}`, class: "lost-of-run" },
    el("p", { class: "lead" }, words),
    el("div", { class: "lost-body" }, grip.element, losses.sums, losses.bySpeed),
    ...heldTable(view),
    el("form", { method: "dialog", class: "buttons" }, submit("Close", "", true)),
  );
  const closed = openDialog(dialog);
  // The charts get their size only now.
  grip.show(view.grip, []);
  losses.show(shown(view));
  await closed;
}
