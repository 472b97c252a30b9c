/** The report's tables: figures with intervals, conditions, flags, calibration, changes. What is unknown says so. */
import { ofWord } from "../kernel/by-word.ts";
import { html, joined, type Markup, type Part } from "../kernel/html.ts";
import { courseWords } from "../run/course-words.ts";
import { UNARMED } from "../run/unarmed.ts";
import { fixed } from "../judge/wording.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { ReportCalibration, ReportChange, ReportInput, ReportRun } from "./report-input.ts";

const UNKNOWN = "unknown";

function table(head: readonly Part[], rows: readonly (readonly Part[])[], figuresFrom: number): Markup {
  const cellOf = (cell: Part, i: number) => {
    if (i === 0) return html`<th scope="row">${cell}</th>`;
    return i >= figuresFrom ? html`<td class="figure">${cell}</td>` : html`<td>${cell}</td>`;
  };
  return html`<div class="wide"><table><thead><tr>${head.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>${rows.map((row) => html`<tr>${row.map(cellOf)}</tr>`)}</tbody></table></div>`;
}

const plusMinus = (value: number | null, half: number | null, decimals: number) =>
  value === null || !Number.isFinite(value)
    ? UNKNOWN
    : `${fixed(value, decimals)} ± ${half === null || !Number.isFinite(half) ? UNKNOWN : fixed(half, decimals)}`;

function gateCell(gate: GateResult | undefined): Part {
  if (!gate) return "–";
  if (gate.seconds === null) return html`<span class="quiet">${gate.why ?? "not reached"}</span>`;
  const exit = gate.exitSpeedKmh === undefined ? null : html`<br>at ${fixed(gate.exitSpeedKmh, 1)} km/h`;
  const way = gate.distanceM === undefined ? null : html`<br>in ${fixed(gate.distanceM, 1)} m`;
  const wheels = gate.wheelSeconds == null ? null : html`<br><span class="quiet">wheels alone ${fixed(gate.wheelSeconds, 3)}</span>`;
  return [plusMinus(gate.seconds, gate.plusMinus95, 3), exit, way, wheels];
}

/** Time of day of an ISO text. */
const clock = (iso: string | null) => (iso === null ? UNKNOWN : iso.slice(11, 19));

/** Every gate that any run reached, run by run. */
export function figuresTable(runs: readonly ReportRun[]): Markup {
  const names = new Map<string, { gate: string; start: string }>();
  for (const run of runs)
    for (const { gate, start, seconds } of run.gates) if (seconds !== null) names.set(`${gate}/${start}`, { gate, start });
  const gates = [...names.values()];
  const head = [
    "run",
    "group",
    "UTC",
    "course",
    ...gates.map(({ gate, start }) => html`${gate}, s<br><span class="quiet">from ${start}</span>`),
    "peak slip, km/h",
    "peak slip ratio",
    "over 10 %, s",
    "calibration",
  ];
  const rows = runs.map((run) => [
    `${run.id}${run.use ? "" : " (set aside)"}${run.final ? "" : " (provisional)"}`,
    run.label || "no label",
    clock(run.startedAt),
    run.courseDeg === null ? UNKNOWN : courseWords(run.courseDeg),
    ...gates.map(({ gate, start }) => gateCell(run.gates.find((result) => result.gate === gate && result.start === start))),
    run.slip.peakSlipSpeedKmh === null ? UNKNOWN : fixed(run.slip.peakSlipSpeedKmh, 1),
    run.slip.peakSlipRatio === null ? UNKNOWN : fixed(run.slip.peakSlipRatio, 3),
    run.slip.secondsAbove10Percent === null ? UNKNOWN : fixed(run.slip.secondsAbove10Percent, 2),
    run.calibrationId === null ? "none yet" : String(run.calibrationId),
  ]);
  return inParts(head, rows);
}

/** Columns that fit beside the run and its group on a sheet of paper. */
const MOST_COLUMNS = 6;

/** One table where it fits on paper, else several under each other, each with the run and its group. */
function inParts(head: readonly Part[], rows: readonly (readonly Part[])[]): Markup {
  const parts = Math.max(1, Math.ceil((head.length - 2) / MOST_COLUMNS));
  const cut = (row: readonly Part[], part: number) => [
    ...row.slice(0, 2),
    ...row.slice(2 + part * MOST_COLUMNS, 2 + (part + 1) * MOST_COLUMNS),
  ];
  const tables = Array.from({ length: parts }, (_, part) =>
    table(
      cut(head, part),
      rows.map((row) => cut(row, part)),
      part === 0 ? 3 : 2,
    ),
  );
  return html`${tables}`;
}

const ROLE_WORDS: Readonly<Record<string, string>> = {
  stateOfCharge: "charge, %",
  batteryTemperature: "battery, °C",
  motorTemperature: "motor, °C",
  inverterTemperature: "inverter, °C",
  batteryVoltage: "battery, V",
  batteryCurrent: "battery, A",
  tractionControlEnabled: "switch (1 on)",
};

/** What was noted, and what the bus said at the start. */
export function conditionsTable(runs: readonly ReportRun[]): Markup {
  const noted = [...new Set(runs.flatMap((run) => Object.keys(run.conditions)))].sort();
  const measured = [...new Set(runs.flatMap((run) => Object.keys(run.measured)))].sort();
  if (noted.length + measured.length === 0) return html`<p>No conditions were noted, and the bus gave none.</p>`;
  const rows = runs.map((run) => [
    String(run.id),
    ...noted.map((key) => ofWord(run.conditions, key) ?? "not noted"),
    ...measured.map((key) => {
      const value = ofWord(run.measured, key);
      return value === null || value === undefined ? UNKNOWN : String(Number(value.toFixed(1)));
    }),
  ]);
  return table(["run", ...noted, ...measured.map((key) => ofWord(ROLE_WORDS, key) ?? key)], rows, 1 + noted.length);
}

/** Under each other in one cell. */
const lines = (texts: readonly string[]): Part => (texts.length === 0 ? "none" : joined(texts, html`<br>`));

/** Flags, and whether a person used the run in spite of them. */
export function flagsTable(runs: readonly ReportRun[]): Markup {
  const told = runs.filter((run) => run.flags.length > 0 || !run.use);
  if (told.length === 0) return html`<p>No run is flagged, and none was set aside.</p>`;
  const rows = told.map((run) => [
    String(run.id),
    lines(run.flags.map(({ flag, why, overruled }) => `${flag}: ${why}${overruled === undefined ? "" : ` Overruled: ${overruled}.`}`)),
    run.use
      ? run.flags.length > 0
        ? "used in spite of it"
        : "used"
      : run.note === UNARMED
        ? "set aside when it was stored"
        : "set aside by a person",
    run.note || "no note",
  ]);
  return table(["run", "flagged", "then", "note"], rows, 9);
}

export function calibrationTable(calibrations: readonly ReportCalibration[]): Markup {
  if (calibrations.length === 0) return html`<p>No calibration yet: the recording is open, figures stand on set-up values.</p>`;
  const rows = calibrations.map(({ id, rollingRadiusM, gnssDelayS, notes }) => [
    String(id),
    plusMinus(rollingRadiusM.value, rollingRadiusM.plusMinus95, 4),
    rollingRadiusM.from,
    plusMinus(gnssDelayS.value, gnssDelayS.plusMinus95, 4),
    gnssDelayS.from,
    lines(notes),
  ]);
  return table(["calibration", "rolling radius, m", "from", "receiver delay, s", "from", "notes"], rows, 9);
}

export function changesTable(changes: readonly ReportChange[]): Markup {
  if (changes.length === 0) return html`<p>Nothing was changed by hand.</p>`;
  const rows = changes.map(({ at, run, what, before, after }) => [
    at === null ? UNKNOWN : `${at.slice(0, 10)} ${clock(at)}`,
    run === null ? "all" : String(run),
    what,
    before || "nothing",
    after || "nothing",
  ]);
  return table(["UTC", "run", "what", "before", "after"], rows, 9);
}

/** The plan in words; its seed lets anyone draw the lot again. */
export function planWords(plan: ReportInput["plan"]): Markup {
  if (!plan) return html`<p>No plan: the order was not drawn by lot.</p>`;
  const count = plan.arrangements === null ? "" : ` of ${plan.arrangements} orders`;
  const set = { any: "any order", blocks: "blocks", balanced: "nearly drift-balanced orders" }[plan.orders];
  const length = `Usable length ${Math.round(plan.usableLengthM)} m, ${plan.neededM} m needed${plan.runOffNote ? `; run-off: ${plan.runOffNote}` : ""}.`;
  return html`<p>${plan.runsPerGroup} runs a group in ${plan.directions === 1 ? "one direction" : "two directions"}, drawn by lot from ${set}${count}, seed ${plan.seed}: ${plan.slots.join(", ")}.</p><p>${length}</p>`;
}
