/** Every value at the cursor with its unit, then the gates with their intervals, then what is known of the run. Unknown is the word. */
import type { GateResult } from "../../../shared/run/run.ts";
import { el } from "../../app/dom.ts";
import { gateName, number, plusMinus, UNKNOWN } from "../../app/format.ts";
import type { RunData } from "./run-data.ts";

type Sample = "solid" | "hollow" | "slip" | "held" | "none";

interface Row {
  readonly sample: Sample;
  readonly name: string;
  readonly unit: string;
  readonly digits: number;
  value(data: RunData, row: number): number;
}

const column = (name: string) => (data: RunData, row: number) => data.column(name)[row] as number;
const ROWS: readonly Row[] = [
  { sample: "solid", name: "Ground", unit: "km/h", digits: 1, value: column("groundSpeedKmh") },
  { sample: "hollow", name: "Wheel", unit: "km/h", digits: 1, value: column("wheelSpeedKmh") },
  { sample: "slip", name: "Slip", unit: "km/h", digits: 1, value: column("slipSpeedKmh") },
  {
    sample: "slip",
    name: "(wR \u2212 v) / v",
    unit: "%",
    digits: 1,
    value: (data, row) => (data.column("slipRatio")[row] as number) * 100,
  },
  { sample: "hollow", name: "Asked", unit: "Nm", digits: 0, value: column("torqueRequestNm") },
  { sample: "solid", name: "Delivered", unit: "Nm", digits: 0, value: column("torqueDeliveredNm") },
  { sample: "held", name: "Held back", unit: "Nm", digits: 0, value: (data, row) => data.seam.heldNm[row] as number },
  { sample: "none", name: "Pedal", unit: "%", digits: 0, value: column("pedalPercent") },
  { sample: "none", name: "Acceleration", unit: "m/s\u00b2", digits: 2, value: column("accelerationMps2") },
  { sample: "none", name: "Distance", unit: "m", digits: 1, value: column("distanceM") },
];

export interface Readouts {
  readonly element: HTMLElement;
  show(data: RunData): void;
  at(row: number): void;
}

function gateRow(gate: GateResult): HTMLElement {
  const head = gate.gate === "0-60 mph";
  if (gate.seconds === null)
    return el(
      "tr",
      { class: "quiet" },
      el("th", { scope: "row" }, gateName(gate.gate)),
      el("td", { colspan: 3, class: "why" }, gate.why ?? "not reached"),
    );
  return el(
    "tr",
    { class: head ? "head" : "" },
    el(
      "th",
      { scope: "row" },
      gateName(gate.gate),
      ...(gate.exitSpeedKmh === undefined ? [] : [el("span", { class: "quiet" }, ` at ${number(gate.exitSpeedKmh, 1)}\u00a0km/h`)]),
    ),
    el("td", {}, number(gate.seconds, 3)),
    el("td", { class: "quiet" }, plusMinus(gate.plusMinus95)),
    // Beside the true time, as a warning of how much spin flatters.
    el("td", { class: "quiet" }, gate.wheelSeconds == null ? "" : number(gate.wheelSeconds, 3)),
  );
}

export function createReadouts(): Readouts {
  const cells = ROWS.map(() => el("td", { class: "value" }));
  const samples = el("table", { class: "readouts" }, el("caption", { class: "out-of-sight" }, "Values at the cursor"));
  ROWS.forEach((row, i) => {
    samples.append(
      el(
        "tr",
        {},
        el("th", { scope: "row" }, el("span", { class: `sample ${row.sample}`, "aria-hidden": "true" }), row.name),
        cells[i] as HTMLElement,
        el("td", { class: "quiet" }, row.unit),
      ),
    );
  });
  const gates = el("table", { class: "gates" });
  const start = el("button", { type: "button", class: "small", hidden: true });
  let data: RunData | null = null;
  let from: "movement" | "1 ft" = "movement";

  const showGates = () => {
    if (data === null) return;
    const all = data.view.gates.filter((gate) => gate.start === from || gate.start === "entry");
    const reached = all.filter((gate) => gate.seconds !== null);
    const missed = all.filter((gate) => gate.seconds === null);
    gates.replaceChildren(
      el("caption", {}, `Gates from ${from}, s; last, what the driven wheels alone would say`),
      ...[...reached, ...missed].map(gateRow),
    );
    start.hidden = !data.view.gates.some((gate) => gate.start === "1 ft");
    start.textContent = from === "movement" ? "Gates from 1 ft" : "Gates from movement";
  };
  start.addEventListener("click", () => {
    from = from === "movement" ? "1 ft" : "movement";
    showGates();
  });

  return {
    element: el("div", {}, samples, gates, start),
    show(next) {
      data = next;
      showGates();
    },
    at(row) {
      const known = data;
      if (known === null) return;
      ROWS.forEach((shown, i) => {
        const text = number(shown.value(known, row), shown.digits);
        const cell = cells[i] as HTMLElement;
        if (cell.textContent === text) return;
        cell.textContent = text;
        cell.classList.toggle("word", text === UNKNOWN);
      });
    },
  };
}
