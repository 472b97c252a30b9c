/** All benches of one run as one page that needs nothing else: what was measured, against what, what is held, and what a size costs. A failed gate is named first. */
import { svgElement } from "../../src/shared/draw/svg-pen.ts";
import { textWidth } from "../../src/shared/draw/text-width.ts";
import { html, type Markup } from "../../src/shared/kernel/html.ts";
import { PALETTE } from "../../src/shared/report/report-figures.ts";
import { REPORT_STYLE } from "../../src/shared/report/report-style.ts";
import { type BenchRun, type Figure, gateWords, heldWords, ratioWords, referenceWords, type Series, valueWords } from "./bench-data.ts";
import { paintLogChart } from "./log-chart.ts";

const CHART = { width: 960, height: 420 } as const;
function headline({ figures, failed }: BenchRun): string {
  const gated = figures.filter(({ gate }) => gate !== null);
  const lost = gated.filter(({ held }) => held === false).length + failed.length;
  const open = gated.filter(({ held }) => held === null).length;
  const judged = `${gated.length - open} of ${gated.length} gates were judged`;
  return lost === 0 ? `Every gate that was judged is held; ${judged}.` : `${lost} FAILED; ${judged}.`;
}

const failures = ({ figures, failed }: BenchRun): Markup[] => [
  ...failed.map(
    (bench) => html`<p class="caution">FAILED: the bench ${bench} did not end by itself: run it alone, npm run bench ${bench}</p>`,
  ),
  ...figures
    .filter(({ held }) => held === false)
    .map((one) => html`<p class="caution">FAILED: ${one.bench}, ${one.what}: ${valueWords(one)}, and the gate is ${gateWords(one)}</p>`),
];

const row = (one: Figure): Markup =>
  html`<tr><td>${one.what}</td><td class="figure">${valueWords(one)}</td><td>${referenceWords(one) ?? "none"}</td><td class="figure">${ratioWords(one) ?? ""}</td><td>${gateWords(one) ?? "none"}</td><td>${one.held === false ? html`<b>${heldWords(one)}</b>` : heldWords(one)}</td></tr>`;

const chart = (series: Series): Markup => {
  const words = series.lines.map(
    ({ name, points }) => `${name}: ${points.map(({ size, cost }) => `${size} ${cost.toPrecision(3)}`).join(", ")}`,
  );
  const title = `${series.what}. ${series.sizeUnit}, ${series.costUnit}. ${words.join("; ")}`;
  return html`<figure><figcaption><b>${series.what}</b></figcaption>${svgElement({ ...CHART, title, textWidth }, (surface) => paintLogChart(surface, series, PALETTE))}</figure>`;
};

export function benchPage(run: BenchRun): string {
  const { figures, series, skipped, machine } = run;
  const benches = [...new Set([...figures, ...series].map(({ bench }) => bench))];
  const parts = benches.map((bench) => {
    const its = figures.filter((one) => one.bench === bench);
    const table =
      its.length > 0 &&
      html`<div class="wide"><table><thead><tr><th>what</th><th>measured</th><th>reference, in the same run</th><th>ratio</th><th>gate</th><th>held</th></tr></thead><tbody>${its.map(row)}</tbody></table></div>`;
    return html`<h2 id="${bench}">${bench}</h2>${table}${series.filter((one) => one.bench === bench).map(chart)}`;
  });
  const left =
    skipped.length > 0 &&
    html`<h2>Not measured here</h2><ul>${skipped.map(({ bench, what, why }) => html`<li>${bench}: ${what}: ${why}</li>`)}</ul>`;
  return String(html`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Gripbook: speed</title><style>${REPORT_STYLE}</style></head><body>
<header><b>Gripbook</b><span>Speed</span></header>
<h1>${headline(run)}</h1>
<p class="quiet">${run.measuredAt}; ${machine.processor}, ${machine.cores} cores, load ${machine.load.toFixed(1)} at the beginning, Node ${machine.node}. A ratio is the measured figure over its reference's, both from this run: another machine moves both.</p>
${failures(run)}${parts}${left}
</body></html>
`);
}
