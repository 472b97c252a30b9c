/**
 * The day as one self-contained HTML page: style and vector figures inside, no script, no address, and a policy that
 * forbids loading anything. All of it is made by the escaping tag (kernel/html.ts). Never fails; what is missing is said in words.
 */
import { html, type Markup, type Part } from "../kernel/html.ts";
import type { Comparison } from "../judge/judged-run.ts";
import { fixed, percent, quickerOrSlower, reach, runsWords, stopped } from "../judge/wording.ts";
import { groupMarkSvg, orderStripSvg, printScales, printSvg, swatchSvg, valueStripSvg } from "./report-figures.ts";
import { PRINT_STEP_S } from "../run/run-print.ts";
import type { ReportInput, ReportRun } from "./report-input.ts";
import { REPORT_STYLE } from "./report-style.ts";
import { tuneSection } from "./report-tune.ts";
import { calibrationTable, changesTable, conditionsTable, figuresTable, flagsTable, planWords } from "./report-tables.ts";

const POLICY = html`default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'`;

/** Ours: the seam opened, slip above, held back below. */
const MARK = html`<svg viewBox="0 0 40 40" aria-hidden="true"><defs><pattern id="mark-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="3" height="6" fill="var(--held)"/></pattern></defs><path d="M4 17 C10 17 10 4 18 4 C26 4 26 17 34 17 Z" fill="var(--slip)"/><rect x="2" y="18" width="36" height="4" fill="var(--ink)"/><path d="M12 23 C16 23 18 36 24 36 C30 36 30 23 34 23 Z" fill="url(#mark-hatch)" stroke="var(--held)"/></svg>`;

const CAUTIONS = [
  "Drive only on a closed course, or on private ground with permission. Local law and licensed practice come first.",
  "Belts and helmets on, a clear run-off, and a stop word that both know. The driver never reads the screen; the passenger may abort at any time.",
  "Laptop strapped down, clear of airbags and head paths; high-voltage work for qualified people only.",
];
const NO_SAFETY_STATEMENT = "A time is a time: this result is no statement of road safety.";

const AFTER_GATE_S = 0.3;

const sentence = (text: string) => (text === "" ? "" : text[0]?.toUpperCase() + text.slice(1));

function groupsOf(input: ReportInput): string[] {
  return [...new Set([...input.comparisons.flatMap(({ a, b }) => [a.label, b.label]), ...input.runs.map((run) => run.label)])];
}

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

function driftWords({ drift, hodgesLehmann, interval }: Comparison): Part {
  if (!drift || hodgesLehmann === null || !interval) return null;
  const plain = `As driven: ${quickerOrSlower(hodgesLehmann)}, ${reach(interval)} (${percent(interval.coverage)}).`;
  const adjusted = `With drift of ${fixed(drift.perRun, 3)} s a run taken out: ${quickerOrSlower(drift.adjustedDifference)}, ${reach({ ...drift, coverage: 0.95 })} (95 %).`;
  return html`<p>${plain} ${adjusted}</p>`;
}

function comparisonSection(comparison: Comparison, runs: readonly ReportRun[], opens: boolean): Markup {
  const { a, b } = comparison;
  const driven = runs.map(({ id }) => id);
  const headline = sentence(comparison.headline);
  const head = opens ? html`<h1>${headline}</h1>` : html`<h2>${headline}</h2>`;
  const warnings =
    comparison.warnings.length === 0
      ? null
      : html`<ul>${comparison.warnings.map((warning) => html`<li>${stopped(sentence(warning))}</li>`)}</ul>`;
  return html`${head}<p class="lead">${sentence(comparison.verdict)}</p><p class="quiet">From ${a.values.length} runs of ${a.label} and ${b.values.length} of ${b.label}. The per cent in brackets says how surely the interval before it holds the true difference.</p>${asideWords(comparison)}${warnings}
<figure>${valueStripSvg(comparison, driven)}</figure>
<h3>In the order driven</h3><figure>${orderStripSvg(comparison, driven)}</figure>${driftWords(comparison)}`;
}

function printsSection(input: ReportInput): Part {
  if (input.runs.length === 0) return null;
  const prints = input.runs.map((run) => run.print);
  const scales = printScales(prints);
  const groups = groupsOf(input);
  const gate = input.comparisons[0]?.gate ?? "0-60 mph";
  const start = input.comparisons[0]?.start ?? "movement";
  const times = input.runs.flatMap((run) => run.gates.find((known) => known.gate === gate && known.start === start)?.seconds ?? []);
  // Up to the slowest run's gate, where there is one from standing: what comes after decides nothing here.
  const upTo = start === "entry" || times.length === 0 ? Number.POSITIVE_INFINITY : Math.max(...times) + AFTER_GATE_S;
  const seconds = Math.min(upTo, Math.max(1, ...prints.map((print) => (print.slipKmh.length - 1) * PRINT_STEP_S)));
  const figures = input.runs.map((run) => {
    const result = run.gates.find((known) => known.gate === gate && known.start === start);
    const time = result?.seconds == null ? "no time" : `${result.seconds.toFixed(2)} s`;
    const title = `Run ${run.id}, ${run.label || "no label"}, ${time}`;
    const glyph = groupMarkSvg(groups.indexOf(run.label));
    return html`<figure><figcaption>${glyph}<span>${run.id}, ${run.label || "no label"}</span><b>${time}</b></figcaption>${printSvg(run.print, { scales, seconds, title, setAside: !run.use })}</figure>`;
  });
  const key = html`<p class="quiet"><span class="key">${swatchSvg("slip")}</span>slip, to ${scales.slipKmh} km/h &nbsp; <span class="key">${swatchSvg("held")}</span>held back, to ${scales.heldNm} Nm &nbsp; stitches: control intervening; dots: unknown. ${seconds.toFixed(1)} s from movement; scales the same for all.</p>`;
  return html`<h2>Where the launches went</h2>${key}<div class="prints">${figures}</div>`;
}

function titleOf(input: ReportInput): string {
  return `${input.car}, ${input.day ?? "undated"}`;
}

/** The whole document, UTF-8. */
export function reportHtml(input: ReportInput): string {
  const [first, ...others] = input.comparisons;
  const opening = first
    ? comparisonSection(first, input.runs, true)
    : html`<h1>${input.runs.length === 1 ? "One run" : `${input.runs.length} runs`} of the ${input.car}.</h1><p class="lead">No comparison yet: label two groups of runs.</p>`;
  const page = html`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}"><meta name="viewport" content="width=device-width, initial-scale=1"><meta name="referrer" content="no-referrer"><title>${titleOf(input)}: Gripbook report</title><style>${REPORT_STYLE}</style></head>
<body><header>${MARK}<b>Gripbook</b><span>${titleOf(input)}</span></header>
<main>${input.simulated && html`<p class="caution">Simulated car: every figure here is invented.</p>`}
<section id="summary">${opening}</section>
${others.map((comparison) => html`<section>${comparisonSection(comparison, input.runs, false)}</section>`)}
<section>${printsSection(input)}</section>
<section>${tuneSection(input.tune)}</section>
<section><h2>Figures</h2><p class="quiet">± is the half width of the 95 % interval, from everything that is uncertain. Slip ratio is (wR − v) / v.</p>${figuresTable(input.runs)}</section>
<section><h2>Flags and runs set aside</h2>${flagsTable(input.runs)}</section>
<section><h2>Conditions</h2>${conditionsTable(input.runs)}</section>
<section><h2>What was changed</h2>${changesTable(input.changes)}</section>
<section><h2>Plan</h2>${planWords(input.plan)}</section>
<section><h2>Calibration</h2>${calibrationTable(input.calibrations)}</section>
<section><h2>Set-up</h2><pre>${input.setUp}</pre></section>
</main>
<footer><p class="caution">${NO_SAFETY_STATEMENT}</p><ul>${CAUTIONS.map((caution) => html`<li>${caution}</li>`)}</ul>
<p class="quiet">Gripbook ${input.softwareVersion}, written ${input.writtenAt}. Runs: ${input.runs.map((run) => `${run.id} = ${run.uid}`).join(", ") || "none"}.</p></footer>
</body></html>
`;
  return String(page);
}
