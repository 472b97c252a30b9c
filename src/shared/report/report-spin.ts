/** When spin would have been noticed, on paper: a fixed limit swept, a control that looks more or less often, a sentence a way. Nothing where nothing was replayed. */
import { alarmsChart, looksChart, missedChart, noticedChart, type PointChart } from "../draw/spin-charts.ts";
import { html, type Part } from "../kernel/html.ts";
import type { SpinAnswer } from "../tune/spin-answer.ts";
import { noticeSentence, SPIN_LEAD } from "../tune/spin-words.ts";
import { pointsSvg } from "./report-figures.ts";

const chartPart = (chart: PointChart | null): Part => chart !== null && html`<h3>${chart.title}</h3><figure>${pointsSvg(chart)}</figure>`;

export function spinSection({ notice, predicted }: SpinAnswer): Part {
  if (notice.ways.every(({ why }) => why !== null)) return null;
  const looks = predicted === null || predicted.looks.length === 0 ? null : looksChart(predicted.looks, predicted.gate);
  const charts = [noticedChart(notice.limits), missedChart(notice.limits), alarmsChart(notice.limits), looks].map(chartPart);
  const simulated = looks !== null && predicted !== null && html`<p class="quiet">${predicted.group}: ${predicted.words}</p>`;
  return html`<h2>When spin would have been noticed</h2><p>${SPIN_LEAD}</p><ul>${notice.ways.map((way) => html`<li>${noticeSentence(way)}</li>`)}</ul>${charts}${simulated}`;
}
