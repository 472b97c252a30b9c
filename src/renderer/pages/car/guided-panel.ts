/**
 * The guided calibration while it is driven: what to do next, a bar for each kind of driving, the intervals as they narrow. Not for the
 * driver.
 */
import type { CarView } from "../../../shared/contract/wiring-contract.ts";
import type { IntervalChart } from "./interval-chart.ts";
import { el, setText } from "../../screen/dom.ts";

export interface GuidedPanel {
  readonly element: HTMLElement;
  show(view: CarView): void;
}

export interface GuidedActs {
  readonly chart: IntervalChart;
  readonly acceptKey: HTMLElement;
  readonly accept: () => void;
  readonly leave: () => void;
  readonly note: (tyres: string | null, pressureKpa: number | null) => void;
}

const STEP_TITLES = { slow: "Slow", fast: "Fast", coasting: "Coasting" } as const;

export function createGuidedPanel({ chart, acceptKey, accept, leave, note }: GuidedActs): GuidedPanel {
  const head = el("h2", { class: "lead" });
  const steps = el("div", { class: "steps" });
  const intervals = el("p", { class: "narrows" });
  const caution = el(
    "p",
    { class: "quiet small" },
    "Closed course or private ground. The passenger reads this out; the driver never looks.",
  );
  const yes = el("button", { type: "button" }, "Accept", acceptKey);
  const no = el("button", { type: "button" }, "Discard");
  const tyres = el("input", { type: "text", maxlength: 200, autocomplete: "off" });
  const pressure = el("input", { type: "text", inputmode: "numeric", maxlength: 5, autocomplete: "off" });
  yes.addEventListener("click", accept);
  no.addEventListener("click", leave);
  const told = () => {
    const kpa = Number(pressure.value.trim());
    note(tyres.value.trim() === "" ? null : tyres.value.trim(), pressure.value.trim() === "" || !Number.isFinite(kpa) ? null : kpa);
  };
  tyres.addEventListener("change", told);
  pressure.addEventListener("change", told);
  const conditions = el(
    "div",
    { class: "conditions edits" },
    el("label", {}, "Tyres on the car", tyres),
    el("label", {}, "Pressure, kPa", pressure),
  );
  const drive = el(
    "div",
    { class: "guided", hidden: true },
    el("div", { role: "status" }, head),
    el("div", {}, steps, intervals, el("div", { class: "buttons edits" }, yes, no), caution),
    chart.element,
  );
  let shownSteps = "";
  let filled = "";

  return {
    element: el("div", { class: "calibrating" }, drive, conditions),
    show({ guided, tyres: noted }) {
      conditions.hidden = guided === null && noted.tyres === null && noted.pressureKpa === null;
      const now = JSON.stringify(noted);
      // A field in use is not overwritten by an earlier note.
      if (now !== filled && !conditions.contains(document.activeElement)) {
        filled = now;
        tyres.value = noted.tyres ?? "";
        pressure.value = noted.pressureKpa === null ? "" : String(noted.pressureKpa);
      }
      drive.hidden = guided === null;
      chart.show(guided);
      if (guided === null) return;
      const next = guided.steps.find(({ name }) => name === guided.next);
      setText(head, guided.good ? "Both figures are good: accept them." : (next?.words ?? "Enough driven; more improves precision."));
      setText(
        intervals,
        `Radius ${guided.radiusM.toFixed(4)} \u00b1 ${guided.radiusPlusMinus95M.toFixed(4)} m, receiver delay ${(guided.delayS * 1000).toFixed(0)} \u00b1 ${(guided.delayPlusMinus95S * 1000).toFixed(0)} ms after ${guided.seconds.toFixed(0)} s${guided.tooSteady ? ". Too steady: press and release the pedal more." : ""}`,
      );
      yes.classList.toggle("solid", guided.good);
      const rods = JSON.stringify(guided.steps.map(({ seconds }) => Math.round(seconds)));
      if (rods === shownSteps) return;
      shownSteps = rods;
      steps.replaceChildren(
        ...guided.steps.map(({ name, seconds, wantedSeconds }) => {
          const meter = el("progress", { max: wantedSeconds, value: Math.min(seconds, wantedSeconds), "aria-label": STEP_TITLES[name] });
          return el(
            "div",
            { class: "step" },
            el("span", {}, STEP_TITLES[name]),
            meter,
            el("span", { class: "quiet" }, `${seconds.toFixed(0)} of ${wantedSeconds} s`),
          );
        }),
      );
    },
  };
}
