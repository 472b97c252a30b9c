/**
 * The day as one self-contained HTML page: styles and vector figures inside, no script, no link, and a policy that forbids loading
 * anything. All of it is made by the escaping tag (kernel/html.ts). Never fails; what is missing is said in words.
 */
import { html, type Markup, type Part } from "../kernel/html.ts";
import { KMH_AND_M, saidIn, type Units } from "../kernel/shown-units.ts";
import type { Comparison } from "../judge/judged-run.ts";
import { fixed, percent, quickerOrSlower, reach, runsWords, stopped } from "../judge/wording.ts";
import { markOf } from "../draw/group-mark.ts";
import { type HeldMark, heldMarks } from "../draw/held-marks.ts";
import { slipScaleWords } from "../draw/seam-columns.ts";
import { groupMarkSvg, heldKeySvg, orderStripSvg, printScales, printSvg, swatchSvg, valueStripSvg } from "./report-figures.ts";
import { PRINT_STEP_S } from "../run/run-print.ts";
import type { ReportInput } from "./report-input.ts";
import { REPORT_STYLE } from "./report-style.ts";
import { responseSection } from "./report-response.ts";
import { spinSection } from "./report-spin.ts";
import { tuneSection } from "./report-tune.ts";
import { shownRuns, shownWords } from "./shown-runs.ts";
import {
  calibrationTable,
  changesTable,
  conditionsTable,
  figuresTable,
  flagKindsTable,
  flagsTable,
  momentsTable,
  planWords,
} from "./report-tables.ts";

const POLICY = html`default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'`;

/** Gripbook's own mark: the ground line, slip above, torque held back below. */
const MARK = html`<svg viewBox="0 0 40 40" aria-hidden="true"><defs><pattern id="mark-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="3" height="6" fill="var(--held)"/></pattern></defs><path d="M4 17 C10 17 10 4 18 4 C26 4 26 17 34 17 Z" fill="var(--slip)"/><rect x="2" y="18" width="36" height="4" fill="var(--ink)"/><path d="M12 23 C16 23 18 36 24 36 C30 36 30 23 34 23 Z" fill="url(#mark-hatch)" stroke="var(--held)"/></svg>`;

const CAUTIONS = [
  "Drive only on a closed course, or on private ground with permission. Local law and licensed practice come first.",
  "Belts and helmets on, a clear run-off, and a stop word that both know. The driver never reads the screen; the passenger may abort at any time.",
  "Laptop strapped down, clear of airbags and head paths; high-voltage work for qualified people only.",
];
const NO_SAFETY_STATEMENT = "These times say nothing about road safety.";

const AFTER_GATE_S = 0.3;

const sentence = (text: string) => (text === "" ? "" : text[0]?.toUpperCase() + text.slice(1));

function asideWords({ setAside, withAllRuns }: Comparison): Part {
  if (setAside.length === 0) return null;
  const beside = withAllRuns ? ` With all runs in: ${withAllRuns.verdict}` : "";
  return html`<p>${sentence(
    runsWords(
      setAside.map(({ run }) => run),
      "is",
      "are",
    ),
  )} set aside.${beside}</p>`;
}

function driftWords({ drift, said }: Comparison): Part {
  if (!drift || !said) return null;
  const plain = `As driven: ${quickerOrSlower(said.shift)}, ${reach(said)} (${percent(said.coverage)}).`;
  const adjusted = `With drift of ${fixed(drift.perRun, 3)} s a run taken out: ${quickerOrSlower(drift.adjustedDifference)}, ${reach({ ...drift, coverage: 0.95 })} (95 %).`;
  return html`<p>${plain} ${adjusted}</p>`;
}

function comparisonSection(comparison: Comparison, { runs, groups }: ReportInput, opens: boolean): Markup {
  const { a, b } = comparison;
  const driven = runs.map(({ id }) => id);
  const headline = sentence(comparison.headline);
  const head = opens ? html`<h1>${headline}</h1>` : html`<h2>${headline}</h2>`;
  const warnings =
    comparison.warnings.length === 0
      ? null
      : html`<ul>${comparison.warnings.map((warning) => html`<li>${stopped(sentence(warning))}</li>`)}</ul>`;
  return html`${head}<p class="lead">${sentence(comparison.verdict)}</p>${comparison.subject && html`<p>${stopped(`Compared: ${comparison.subject}`)}</p>`}${comparison.within && html`<p>${stopped(sentence(comparison.within))}</p>`}<p class="quiet">From ${a.values.length} runs of ${a.label} and ${b.values.length} of ${b.label}. The per cent in brackets is the interval's confidence.</p>${asideWords(comparison)}${warnings}
<figure>${valueStripSvg(comparison, driven, groups)}</figure>
<h3>In the order driven</h3><figure>${orderStripSvg(comparison, driven, groups)}</figure>${driftWords(comparison)}`;
}

/** Of a run by its id; none where nothing was held back, or nothing is known of it. */
function marksOf({ tune }: ReportInput, run: number): HeldMark[] {
  const each = tune.groups.flatMap(({ control }) => control.each).find((one) => one.run === run);
  return each === undefined ? [] : heldMarks(each.interventions, each.movementS);
}

function printsSection(input: ReportInput, units: Units): Part {
  if (input.runs.length === 0) return null;
  const prints = input.runs.map((run) => run.print);
  const scales = printScales(prints, units);
  const gate = input.comparisons[0]?.gate ?? "0-60 mph";
  const start = input.comparisons[0]?.start ?? "movement";
  const times = input.runs.flatMap((run) => run.gates.find((known) => known.gate === gate && known.start === start)?.seconds ?? []);
  // Up to the slowest run's time at the gate, if it is a standing one: what comes later decides nothing here.
  const upTo = start === "entry" || times.length === 0 ? Number.POSITIVE_INFINITY : Math.max(...times) + AFTER_GATE_S;
  const seconds = Math.min(upTo, Math.max(1, ...prints.map((print) => (print.slipKmh.length - 1) * PRINT_STEP_S)));
  const marked = input.runs.some(({ id }) => marksOf(input, id).length > 0);
  const figures = input.runs.map((run) => {
    const result = run.gates.find((known) => known.gate === gate && known.start === start);
    const time = result?.seconds == null ? "no time" : `${result.seconds.toFixed(2)} s`;
    const title = `Run ${run.id}, ${run.label || "no label"}, ${time}`;
    const glyph = groupMarkSvg(markOf(input.groups, run.label));
    return html`<figure><figcaption>${glyph}<span>${run.id}, ${run.label || "no label"}</span><b>${time}</b></figcaption>${printSvg(run.print, { scales, seconds, title, setAside: !run.use, marks: marked ? marksOf(input, run.id) : null })}</figure>`;
  });
  const key = html`<p class="quiet"><span class="key">${swatchSvg("slip")}</span>slip, to ${slipScaleWords(scales)} &nbsp; <span class="key">${swatchSvg("held")}</span>held back, to ${scales.heldNm} Nm &nbsp; marks: control intervening; dots: unknown. ${seconds.toFixed(1)} s from movement; scales the same for all.</p>`;
  return html`<h2>Slip and torque held back</h2>${key}${marked && html`<p class="quiet">${heldKeySvg()}</p>`}<div class="prints">${figures}</div>`;
}

/** Where grip and lost time are of the newest runs alone. */
const tunedWords = ({ tunedNewest }: ReportInput): Part =>
  tunedNewest !== null &&
  html`<p><b>Grip and lost time here are of the newest ${tunedNewest} runs of each group alone.</b> Time lost on the screen and \`advise\` take all of them, and may say otherwise.</p>`;

/** Paper is read without the screen it came from: that it is not of the whole book is its first line. */
const onlyWords = ({ only, runs }: ReportInput): Part =>
  only !== null &&
  html`<p><b>Only runs with ${only.where.join(" and ")}: ${runs.length} of the book's ${only.ofRuns}.</b> Plan and set-up are of the whole book.</p>`;

function titleOf(input: ReportInput): string {
  return `${input.car}, ${input.day ?? "undated"}`;
}

/** The whole document, UTF-8, in the units of its reader. */
export function reportHtml(input: ReportInput, units: Units = KMH_AND_M): string {
  const [first, ...others] = input.comparisons;
  const runs = shownRuns(input);
  const words = shownWords(input, runs.length);
  const calibrations =
    words === null ? input.calibrations : input.calibrations.filter(({ id }) => runs.some((run) => run.calibrationId === id));
  const told = words && html`<p class="quiet">${words}</p>`;
  const opening = first
    ? comparisonSection(first, input, true)
    : html`<h1>${input.runs.length === 1 ? "One run" : `${input.runs.length} runs`} of the ${input.car}.</h1><p class="lead">No comparison yet: label two groups of runs.</p>`;
  const page = html`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}"><meta name="viewport" content="width=device-width, initial-scale=1"><meta name="referrer" content="no-referrer"><title>${titleOf(input)}: Gripbook report</title><style>${REPORT_STYLE}</style></head>
<body><header>${MARK}<b>Gripbook</b><span>${titleOf(input)}</span></header>
<main>${input.simulated && html`<p class="caution">Simulated car: every figure here is invented.</p>`}
${input.wiring.map((line) => html`<p class="caution">${stopped(line)}</p>`)}
<section id="summary">${onlyWords(input)}${opening}</section>
${others.map((comparison) => html`<section>${comparisonSection(comparison, input, false)}</section>`)}
<section>${responseSection(input.response)}</section>
<section>${printsSection({ ...input, runs }, units)}${told}</section>
<section>${tuneSection(input.tune, units, tunedWords(input))}</section>
<section>${input.spin !== null && spinSection(input.spin)}</section>
<section><h2>Figures</h2><p class="quiet">± is the half width of the 95 % interval, from everything that is uncertain. Slip ratio is (wR − v) / v.</p>${figuresTable(runs, units)}${told}</section>
<section><h2>Flags and runs set aside</h2>${words === null ? flagsTable(runs, units) : flagKindsTable(input.runs)}</section>
<section><h2>Noted while driving</h2>${momentsTable(input.runs)}</section>
<section><h2>Conditions</h2>${conditionsTable(runs)}</section>
<section><h2>What was changed</h2>${changesTable(input.changes)}</section>
<section><h2>Plan</h2>${planWords(input.plan)}</section>
<section><h2>Calibration</h2>${calibrationTable(calibrations)}</section>
<section><h2>Set-up</h2><pre>${input.setUp}</pre></section>
</main>
<footer><p class="caution">${NO_SAFETY_STATEMENT}</p><ul>${CAUTIONS.map((caution) => html`<li>${caution}</li>`)}</ul>
<p class="quiet">Gripbook ${input.softwareVersion}, written ${input.writtenAt}. ${words === null ? "Runs" : "Runs shown"}: ${runs.map((run) => `${run.id} = ${run.uid}`).join(", ") || "none"}.</p></footer>
</body></html>
`;
  // The sentences of the core are put into the units here, all at once.
  return saidIn(units, String(page));
}
