/**
 * Every value at the cursor with its unit, beside it those of the run underneath; then the gates with their intervals. Unknown is the word.
 */
import type { GateResult } from "../../../shared/launch/gate-result.ts";
import { el, setText } from "../../screen/dom.ts";
import { lessAsShown } from "../../../shared/kernel/number-words.ts";
import { kmhIn, marked, type Units } from "../../../shared/kernel/shown-units.ts";
import { gateName, number, plusMinus, quantity, UNKNOWN } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import type { CursorReading } from "./cursor-reading.ts";
import type { RunData } from "./run-data.ts";

type Sample = "solid" | "hollow" | "slip" | "held" | "none";

interface Row {
  readonly sample: Sample;
  readonly name: string;
  readonly unit: string;
  readonly digits: number;
  value(data: RunData, row: number): number;
}

const column = (name: string) => (data: RunData, row: number) => data.column(name)[row];
/** A column that is the difference of two others, as these are shown; where one of them is unknown, as it is. */
const asShown = (own: string, more: string, less: string, digits: number) => (data: RunData, row: number) => {
  const [known, a, b] = [own, more, less].map((name) => data.column(name)[row]) as [number, number, number];
  return Number.isFinite(known + a + b) ? lessAsShown(a, b, digits) : known;
};
const heldAsShown = (data: RunData, row: number) => {
  const held = data.seam.heldNm[row];
  return held > 0 ? Math.max(0, lessAsShown(data.column("torqueRequestNm")[row], data.column("torqueDeliveredNm")[row])) : held;
};

const rowsIn = ({ speed, length }: Units): readonly Row[] => [
  { sample: "solid", name: "Ground", unit: speed, digits: 1, value: column("groundSpeedKmh") },
  { sample: "hollow", name: "Wheel", unit: speed, digits: 1, value: column("wheelSpeedKmh") },
  { sample: "slip", name: "Slip", unit: speed, digits: 1, value: asShown("slipSpeedKmh", "wheelSpeedKmh", "groundSpeedKmh", 1) },
  {
    sample: "slip",
    name: "Slip ratio",
    unit: "%",
    digits: 1,
    value: (data, row) => data.column("slipRatio")[row] * 100,
  },
  { sample: "hollow", name: "Asked", unit: "Nm", digits: 0, value: column("torqueRequestNm") },
  { sample: "solid", name: "Delivered", unit: "Nm", digits: 0, value: column("torqueDeliveredNm") },
  { sample: "held", name: "Held back", unit: "Nm", digits: 0, value: heldAsShown },
  { sample: "none", name: "Pedal", unit: "%", digits: 0, value: column("pedalPercent") },
  { sample: "none", name: "Acceleration", unit: "m/s\u00b2", digits: 2, value: column("accelerationMps2") },
  { sample: "none", name: "Distance", unit: length, digits: 1, value: column("distanceM") },
];

/** A row's value as it is written. */
export function shownValue(name: string, data: RunData, row: number): string {
  const found = rowsIn(units()).find((known) => known.name === name);
  return found === undefined ? UNKNOWN : number(found.value(data, row), found.digits);
}

export interface Readouts {
  readonly element: HTMLElement;
  show(data: RunData): void;
  at(reading: CursorReading): void;
}

/** A run that was aborted misses most gates for the same reason: it stands once, beside all their names. */
function missedRows(gates: readonly GateResult[]): HTMLElement[] {
  const byWhy = new Map<string, string[]>();
  for (const { gate, why } of gates) {
    const told = why ?? "not reached";
    byWhy.set(told, [...(byWhy.get(told) ?? []), gateName(gate)]);
  }
  return [...byWhy].map(([why, names]) =>
    el("tr", { class: "quiet" }, el("th", { scope: "row" }, names.join(", ")), el("td", { colspan: 3, class: "why" }, marked(why))),
  );
}

function gateRow(gate: GateResult & { readonly seconds: number }): HTMLElement {
  const head = gate.gate === "0-60 mph";
  return el(
    "tr",
    { class: head ? "head" : "" },
    el(
      "th",
      { scope: "row" },
      el("span", { class: "name" }, gateName(gate.gate)),
      ...(gate.exitSpeedKmh === undefined
        ? []
        : [el("span", { class: "quiet" }, ` at ${quantity(kmhIn(units(), gate.exitSpeedKmh), units().speed, 1)}`)]),
    ),
    el("td", {}, number(gate.seconds, 3)),
    el("td", { class: "quiet" }, plusMinus(gate.plusMinus95)),
    // Beside the true time, to show how much a spinning wheel would improve it.
    el("td", { class: "quiet" }, gate.wheelSeconds == null ? "" : number(gate.wheelSeconds, 3)),
  );
}

export function createReadouts(): Readouts {
  const made = (sample: Sample, name: string, unit: string) => {
    const cells = {
      name: el("span", {}, name),
      value: el("td", { class: "value" }),
      under: el("td", { class: "under", hidden: true }),
      unit: el("td", { class: "quiet" }, unit),
    };
    const head = el("th", { scope: "row" }, el("span", { class: `sample ${sample}`, "aria-hidden": "true" }), cells.name);
    return { ...cells, row: el("tr", {}, head, cells.value, cells.under, cells.unit) };
  };
  const told = rowsIn(units());
  const rows = told.map(({ sample, name, unit }) => made(sample, name, unit));
  const further = made("none", "", "");
  const ahead = made("none", "Ahead", "s");
  const [own, other] = [el("span"), el("span")];
  /** In an overlay a line's look tells the run; its meaning for a single run would contradict that. */
  const head = (sample: Sample, name: HTMLElement) =>
    el("th", { scope: "col", class: "own" }, el("span", { class: `sample ${sample}`, "aria-hidden": "true" }), name);
  const runs = el("tr", { class: "quiet" }, el("td"), head("solid", own), head("hollow", other), el("td"));
  const samples = el(
    "table",
    { class: "readouts" },
    el("caption", { class: "out-of-sight" }, "Values at the cursor"),
    runs,
    ahead.row,
    ...rows.map(({ row }) => row),
    further.row,
  );
  const write = (cell: HTMLElement, text: string) => {
    if (cell.textContent === text) return;
    setText(cell, text);
    cell.classList.toggle("word", text === UNKNOWN);
  };
  const gates = el("table", { class: "gates" });
  const start = el("button", { type: "button", class: "small", hidden: true });
  let data: RunData | null = null;
  let from: "movement" | "1 ft" = "movement";

  const showGates = () => {
    if (data === null) return;
    const all = data.view.gates.filter((gate) => gate.start === from || gate.start === "entry");
    const reached = all.filter((gate): gate is GateResult & { readonly seconds: number } => gate.seconds !== null);
    const missed = all.filter((gate) => gate.seconds === null);
    gates.replaceChildren(
      el("caption", { class: "out-of-sight" }, `Gates from ${from}, in seconds; last, what the driven wheels alone would say`),
      el(
        "tr",
        { class: "heads" },
        el("th", { scope: "col", colspan: 2 }, `From ${from}, s`),
        el("td"),
        el("th", { scope: "col", title: "By the driven wheels alone: spin makes it look better" }, "wheels"),
      ),
      ...reached.map(gateRow),
      ...missedRows(missed),
    );
    start.hidden = !data.view.gates.some((gate) => gate.start === "1 ft");
    setText(start, from === "movement" ? "Gates from 1 ft" : "Gates from movement");
  };
  start.addEventListener("click", () => {
    from = from === "movement" ? "1 ft" : "movement";
    showGates();
  });

  return {
    element: el("div", {}, samples, el("div", { class: "gate-list" }, gates, start)),
    show(next) {
      data = next;
      showGates();
    },
    at({ data: known, row, line, over }) {
      for (const { under } of [...rows, further, ahead]) under.hidden = over === null;
      runs.hidden = over === null;
      samples.classList.toggle("two", over !== null);
      ahead.row.hidden = over === null;
      further.row.hidden = line === null;
      told.forEach((shown, i) => {
        const cells = rows[i] as (typeof rows)[number];
        write(cells.value, number(shown.value(known, row), shown.digits));
        if (over !== null) write(cells.under, number(shown.value(over.data, over.row), shown.digits));
      });
      if (line !== null) {
        write(further.name, line.name);
        write(further.unit, line.unit);
        write(further.value, number(line.value, line.digits));
        write(further.under, number(line.under, line.digits));
      }
      if (over === null) return;
      write(own, `run ${known.view.run.id}`);
      write(other, `run ${over.data.view.run.id}`);
      write(ahead.value, number(over.aheadS, 3));
    },
  };
}
