/**
 * Wiring: two sources, cables to the roles, the worst finding as the sentence and its remedy as the solid button. Errors go to the frame;
 * on a phone it only shows.
 */
import type { CoreEvent } from "../../../shared/contract/contract.ts";
import type { WiringView } from "../../../shared/contract/wiring-contract.ts";
import { ONCE_A_SECOND } from "../../../shared/receiver/once-a-second.ts";
import { createChartTools } from "../../screen/chart-tools.ts";
import { el, setText } from "../../screen/dom.ts";
import type { Frame, Page } from "../../screen/page.ts";
import { overNetwork } from "../../bridge/over-network.ts";
import { onlyShows } from "../../screen/only-shows.ts";
import { drawCables } from "./cables.ts";
import { createRoleTable } from "./role-table.ts";
import { createSourceBox } from "./source-box.ts";
import { tracesChart } from "./traces-chart.ts";
import { createWiringActs } from "./wiring-acts.ts";
import { createWiringButtons } from "./wiring-buttons.ts";
import { createWiringWatch } from "./wiring-watch.ts";
import { type Finding, findingOf } from "./wiring-words.ts";

const ONLY_LISTENS = "Gripbook only listens to the car. Plug the adapter in with the car off, its terminator switched off.";

function createCables(): SVGSVGElement {
  const made = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  made.setAttribute("class", "cables");
  made.setAttribute("aria-hidden", "true");
  return made;
}

export function createWiringPage(frame: Frame): Page {
  let finding: Finding | null = null;
  const watch = createWiringWatch(frame, () => render());
  const table = createRoleTable((role) => acts.pick(role));
  const acts = createWiringActs({ frame, watch, finding: () => finding, marked: () => table.selected() });
  const sentence = el("h1");
  const second = el("p", { class: "lead", role: "status" });
  const buttons = createWiringButtons(frame.keys, acts);
  const boxes = { gnss: createSourceBox("Receiver"), can: createSourceBox("Adapter") };
  const cables = createCables();
  const tools = createChartTools(frame, "the signals", tracesChart(watch.view));
  const where = el("p", { class: "quiet small where" });

  function showSources({ gnss, can, signalFiles, simulated }: WiringView): void {
    boxes.gnss.show(gnss, gnss?.onceASecond === true ? [`Once a second is slow: ${ONCE_A_SECOND}`] : [], simulated);
    const files = signalFiles.map(({ name, signals }) => `Signal file ${name}, ${signals} signals`);
    boxes.can.show(can, files.length === 0 ? ["No signal file yet"] : files, simulated);
  }

  function render(): void {
    const view = watch.view();
    if (view === null) return;
    finding = findingOf(view);
    setText(sentence, finding.sentence);
    setText(second, watch.busy() ?? finding.second);
    buttons.show(finding, view.simulated);
    setText(where, view.file === null ? "" : `Kept in ${view.file}`);
    where.title = view.file === null ? "" : `Next time: start with --setup ${view.file}`;
    showSources(view);
    const ends = table.show(view, finding.role);
    drawCables(cables, { gnss: boxes.gnss.element, can: boxes.can.element }, ends);
  }

  return {
    name: "wiring",
    title: "Wiring",
    element: el(
      "div",
      { class: "page wiring" },
      sentence,
      second,
      buttons.element,
      el("div", { class: "wires" }, el("div", { class: "boxes" }, boxes.gnss.element, boxes.can.element), cables, table.element),
      el("div", { class: "figure-head" }, el("p", { class: "quiet small" }, ONLY_LISTENS), tools.element),
      where,
    ),
    acts: {
      "wiring.remedy": acts.remedy,
      "wiring.down": () => table.move(1),
      "wiring.up": () => table.move(-1),
      "wiring.pick": () => acts.pick(null),
      "wiring.invert": acts.remedies.invert,
      "wiring.ports": acts.remedies.ports,
      "wiring.adapter": acts.remedies.adapter,
      "wiring.bitrate": acts.remedies.bitrate,
      "wiring.check": acts.remedies.check,
      "wiring.file": acts.remedies.file,
      "wiring.all": () => {
        table.toggleAll();
        render();
      },
    },
    takes: (_, event) => overNetwork() || !onlyShows() || event.key.startsWith("Arrow"),
    shown: watch.start,
    hidden: watch.stop,
    onEvent(event: CoreEvent) {
      // A new process or another book: what was wrong may be right now.
      if (event.event === "notice" && (event.key === "core" || event.key === "link") && event.text === null) watch.lookAgain();
    },
    changed: render,
  };
}
