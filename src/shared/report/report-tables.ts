/** The report's tables: figures with intervals, conditions, flags, calibration, changes. Unknown values are written as unknown. */
import { fitWords } from "../draw/fit-words.ts";
import { UNKNOWN } from "../kernel/number-words.ts";
import { flagWhy, flagWords } from "../run/flag-words.ts";
import { ofWord } from "../kernel/by-word.ts";
import { html, joined, type Markup, type Part } from "../kernel/html.ts";
import { marked, type Units } from "../kernel/shown-units.ts";
import { courseWords } from "../run/course-words.ts";
import { momentTime } from "../run/moments.ts";
import { lengthWords } from "../judge/usable-length.ts";
import { countedRuns, fixed, stopped } from "../judge/wording.ts";
import { UNARMED } from "../run/unarmed.ts";
import type { GateResult } from "../launch/gate-result.ts";
import type { ReportCalibration, ReportChange, ReportInput, ReportRun } from "./report-input.ts";

/** A word of more letters than a column has is broken; every other word stays whole. */
const LONGEST_WORD = /\S{25,}/;
const hasLongWord = (cell: Part) => LONGEST_WORD.test(String(html`${cell}`).replace(/<[^>]*>/g, " "));

function table(head: readonly Part[], rows: readonly (readonly Part[])[], figuresFrom: number): Markup {
  const cellOf = (cell: Part, i: number) => {
    if (i === 0) return html`<th scope="row">${cell}</th>`;
    if (i >= figuresFrom) return html`<td class="figure">${cell}</td>`;
    return hasLongWord(cell) ? html`<td class="broken">${cell}</td>` : html`<td>${cell}</td>`;
  };
  return html`<div class="wide"><table><thead><tr>${head.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>${rows.map((row) => html`<tr>${row.map(cellOf)}</tr>`)}</tbody></table></div>`;
}

const plusMinus = (value: number | null, half: number | null, decimals: number) =>
  value === null || !Number.isFinite(value)
    ? UNKNOWN
    : `${fixed(value, decimals)} ± ${half === null || !Number.isFinite(half) ? UNKNOWN : fixed(half, decimals)}`;

function gateCell(gate: GateResult | undefined, units: Units): Part {
  if (!gate) return "–";
  if (gate.seconds === null) return html`<span class="quiet">${marked(gate.why ?? "not reached")}</span>`;
  const exit = gate.exitSpeedKmh === undefined ? null : html`<br>at ${fixed(gate.exitSpeedKmh * units.perKmh, 1)} ${units.speed}`;
  const way = gate.distanceM === undefined ? null : html`<br>in ${fixed(gate.distanceM * units.perM, 1)} ${units.length}`;
  const wheels = gate.wheelSeconds == null ? null : html`<br><span class="quiet">wheels alone ${fixed(gate.wheelSeconds, 3)}</span>`;
  return [plusMinus(gate.seconds, gate.plusMinus95, 3), exit, way, wheels];
}

/** The time of day in an ISO text. */
const clock = (iso: string | null) => (iso === null ? UNKNOWN : iso.slice(11, 19));

/** Every gate that any run reached, run by run. */
export function figuresTable(runs: readonly ReportRun[], units: Units): Markup {
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
    `peak slip, ${units.speed}`,
    "peak slip ratio",
    "over 10 %, s",
    "calibration",
  ];
  const rows = runs.map((run) => [
    `${run.id}${run.use ? "" : " (set aside)"}${run.final ? "" : " (provisional)"}`,
    run.label || "no label",
    clock(run.startedAt),
    run.courseDeg === null ? UNKNOWN : courseWords(run.courseDeg),
    ...gates.map(({ gate, start }) =>
      gateCell(
        run.gates.find((result) => result.gate === gate && result.start === start),
        units,
      ),
    ),
    run.slip.peakSlipSpeedKmh === null ? UNKNOWN : fixed(run.slip.peakSlipSpeedKmh * units.perKmh, 1),
    run.slip.peakSlipRatio === null ? UNKNOWN : fixed(run.slip.peakSlipRatio, 3),
    run.slip.secondsAbove10Percent === null ? UNKNOWN : fixed(run.slip.secondsAbove10Percent, 2),
    run.calibrationId === null ? "none yet" : String(run.calibrationId),
  ]);
  return inParts(head, rows, 2, 3);
}

/** Columns that fit on a sheet of paper, A4 or letter, beside the run and its group. */
const MOST_COLUMNS = 5;
/** Letters of a group's name where it only says again whose row it is. */
const NAME_AGAIN = 40;

/**
 * One table where it fits on paper; otherwise several below each other, each with the first `lead` columns, which name the row. Figures begin
 * at column `figuresFrom` of the whole table.
 */
function inParts(head: readonly Part[], rows: readonly (readonly Part[])[], lead: number, figuresFrom: number): Markup {
  const parts = Math.max(1, Math.ceil((head.length - lead) / MOST_COLUMNS));
  const again = (cell: Part): Part => (typeof cell === "string" ? fitWords(cell, NAME_AGAIN, (text) => text.length) : cell);
  const cut = (row: readonly Part[], part: number) => [
    ...row.slice(0, lead).map((cell) => (part === 0 ? cell : again(cell))),
    ...row.slice(lead + part * MOST_COLUMNS, lead + (part + 1) * MOST_COLUMNS),
  ];
  const tables = Array.from({ length: parts }, (_, part) =>
    table(
      cut(head, part),
      rows.map((row) => cut(row, part)),
      Math.max(lead, figuresFrom - part * MOST_COLUMNS),
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

/** What people noted, and what bus signals showed at the start. */
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
  return inParts(["run", ...noted, ...measured.map((key) => ofWord(ROLE_WORDS, key) ?? key)], rows, 1, 1 + noted.length);
}

/** Texts below each other in one cell. */
const lines = (texts: readonly string[]): Part => (texts.length === 0 ? "none" : joined(texts, html`<br>`));

/** Of more the newest: a season's notes fill pages. */
const MOST_MOMENTS = 60;

/** Marked and noted while driving, in the words of who did. */
export function momentsTable(runs: readonly ReportRun[]): Markup {
  const rows = runs.flatMap(({ id, moments }) => moments.map((moment) => [String(id), momentTime(moment), moment.text || "marked"]));
  if (rows.length === 0) return html`<p>Nothing was marked or noted while driving.</p>`;
  const newest = rows.slice(-MOST_MOMENTS);
  const left = rows.length > newest.length && html`<p>The newest ${newest.length} of ${rows.length}.</p>`;
  return html`${left}${table(["run", "when", "note"], newest, 9)}`;
}

/** Flags, and whether a person used the run in spite of them. */
export function flagsTable(runs: readonly ReportRun[], units: Units): Markup {
  const told = runs.filter((run) => run.flags.length > 0 || !run.use);
  if (told.length === 0) return html`<p>No run is flagged, and none was set aside.</p>`;
  const rows = told.map((run) => [
    String(run.id),
    lines(
      run.flags.map(
        (flag) =>
          `${flagWords(flag)}: ${flagWhy(flag, run.slip, units)}${flag.overruled === undefined ? "" : ` Overruled: ${flag.overruled}.`}`,
      ),
    ),
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

/** Flags of many runs by kind, and why runs were set aside, each with how many runs and the first of them. */
export function flagKindsTable(runs: readonly ReportRun[]): Markup {
  const kinds = new Map<string, number[]>();
  const add = (kind: string, id: number) => kinds.set(kind, [...(kinds.get(kind) ?? []), id]);
  for (const { id, flags, use, note } of runs) {
    for (const flag of flags) add(flag.overruled === undefined ? flagWords(flag) : `${flagWords(flag)}, overruled`, id);
    if (!use) add(note === UNARMED ? "set aside when it was stored" : `set aside: ${note || "no note"}`, id);
  }
  if (kinds.size === 0) return html`<p>No run is flagged, and none was set aside.</p>`;
  const rows = [...kinds].sort((x, y) => y[1].length - x[1].length).map(([kind, ids]) => [kind, String(ids.length), countedRuns(ids)]);
  return table(["flagged", "runs", "which"], rows, 9);
}

export function calibrationTable(calibrations: readonly ReportCalibration[]): Markup {
  if (calibrations.length === 0) return html`<p>No calibration yet: the recording is open, figures stand on set-up values.</p>`;
  const rows = calibrations.map(({ id, rollingRadiusM, gnssDelayS, notes }) => [
    String(id),
    plusMinus(rollingRadiusM.value, rollingRadiusM.plusMinus95, 4),
    rollingRadiusM.from,
    plusMinus(gnssDelayS.value, gnssDelayS.plusMinus95, 4),
    gnssDelayS.from,
    lines(notes.map(marked)),
  ]);
  return table(["calibration", "rolling radius, m", "from", "receiver delay, s", "from", "notes"], rows, 9);
}

/** Of more changes the newest: a season's labels fill a book of their own. */
const MOST_CHANGES = 100;

export function changesTable(changes: readonly ReportChange[]): Markup {
  if (changes.length === 0) return html`<p>Nothing was changed by hand.</p>`;
  const newest = changes.slice(-MOST_CHANGES);
  const left = changes.length - newest.length;
  const rows = newest.map(({ at, run, what, before, after }) => [
    at === null ? UNKNOWN : `${at.slice(0, 10)} ${clock(at)}`,
    run === null ? "all" : String(run),
    what,
    before || "nothing",
    after || "nothing",
  ]);
  return html`${left > 0 && html`<p class="quiet">The newest ${newest.length} of ${changes.length} changes; the book keeps all of them.</p>`}${table(["UTC", "run", "what", "before", "after"], rows, 9)}`;
}

/** The plan in words, and its order as a list that can be driven from; with its seed anyone can draw the order again. */
export function planWords(plan: ReportInput["plan"]): Markup {
  if (!plan) return html`<p>No plan: the order was not drawn at random.</p>`;
  const count = plan.arrangements === null ? "" : ` of ${plan.arrangements} orders`;
  const set = { any: "any order", blocks: "blocks", balanced: "nearly drift-balanced orders" }[plan.orders];
  const told = `${lengthWords(plan.length)}${plan.runOffNote ? `; run-off: ${plan.runOffNote}` : ""}`;
  const slots = plan.slots.map(({ group, direction }) => html`<li><b>${group}</b> <span class="quiet">${direction}</span></li>`);
  return html`<p>${plan.runsPerGroup} runs a group in ${plan.directions === 1 ? "one direction" : "two directions"}, drawn at random from ${set}${count}, seed ${plan.seed}:</p><ol class="order">${slots}</ol><p>${stopped(told)}</p>`;
}
