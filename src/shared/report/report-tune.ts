/** Where the time went and what to change next, on paper: grip curve, bars, figures with intervals, advice. What is unknown says why. */
import type { HeldAt } from "../draw/grip-painter.ts";
import { apart, fixed, stopped } from "../judge/wording.ts";
import { html, type Markup, type Part } from "../kernel/html.ts";
import type { Units } from "../kernel/shown-units.ts";
import type { Advice } from "../tune/advise.ts";
import type { AdvisedGroup } from "../tune/advised-group.ts";
import type { GripCurve } from "../tune/grip-curve.ts";
import { bandEnds, CAUSE_WORDS, lostHeadline, lostLead, secondsByCause, toldBands, toldLosses } from "../tune/loss-words.ts";
import type { TuneAnswer } from "../tune/tune-answer.ts";
import { gripSvg, lossBarsSvg } from "./report-figures.ts";

const NOTE = "Advice is a hint, not a result: change one thing, then plan a test of it. Gripbook changes no controller.";
const percent = (share: number) => `${fixed(100 * share, 1)} %`;

function gripFigure(curve: GripCurve, groups: readonly AdvisedGroup[]): Markup {
  const names = groups.length > 1 ? apart(groups.map((group) => group.label)) : ["it"];
  const held = groups.flatMap(({ control, runs }, i): HeldAt[] =>
    control.holdsSlipAt === null || !runs.some((run) => curve.runs.includes(run))
      ? []
      : [{ name: `${names[i]} holds ${percent(control.holdsSlipAt.value)}`, slip: control.holdsSlipAt.value }],
  );
  const { bestSlip, peakFriction, why } = curve;
  const words =
    bestSlip === null || peakFriction === null
      ? stopped(`Best slip is unknown: ${why ?? "too little was seen"}`)
      : `Best slip ${percent(bestSlip.value)} ± ${percent(bestSlip.plusMinus95)}, friction there ${fixed(peakFriction.value, 3)} ± ${fixed(peakFriction.plusMinus95, 3)}.`;
  const road = curve.surface === null ? "" : `, ${curve.surface}`;
  return html`<h3>Friction used against slip ratio (wR − v) / v${road}</h3><p>${words}</p><figure>${gripSvg(curve, held)}</figure>`;
}

function groupParagraph(group: AdvisedGroup): Markup {
  const losses = toldLosses(group)
    .map(({ cause, seconds, plusMinus95 }) => `${CAUSE_WORDS[cause]} ${fixed(seconds)} ± ${fixed(plusMinus95)} s`)
    .join(", ");
  const told = losses === "" ? "" : ` ${group.atLeast === null ? "Lost" : "Lost at least"}: ${losses}.`;
  return html`<p><b>${lostHeadline(group, group.gate)}</b> ${lostLead(group)}${told}</p>`;
}

function bars(groups: readonly AdvisedGroup[], units: Units): Markup | null {
  const told = groups.filter((group) => toldLosses(group).length > 0);
  if (told.length === 0) return null;
  const rows = told.map((group) => ({ name: group.label, seconds: secondsByCause(toldLosses(group)) }));
  const bySpeed = told.map((group) => {
    const bands = toldBands(group, units).map((band) => ({
      name: `${bandEnds(band, units).join(" to ")} ${units.speed}`,
      seconds: secondsByCause(band.losses),
    }));
    return html`<h3>${group.label} by ground speed</h3><figure>${lossBarsSvg(bands, `Time lost by ground speed, ${group.label}`)}</figure>`;
  });
  return html`<h3>Time lost</h3><figure>${lossBarsSvg(rows, "Time lost by cause")}</figure>${bySpeed}`;
}

const adviceItem = ({ group, words }: Advice) => html`<li><b>${group}.</b> ${words}</li>`;

/** `of`: which runs it is of, where that is not all. */
export function tuneSection({ car, grip, groups, advice, silent }: TuneAnswer, units: Units, of: Part = null): Markup {
  const advised = advice.length === 0 ? html`<p>No advice.</p>` : html`<ol>${advice.map(adviceItem)}</ol>`;
  const notes = [...silent, ...(car?.torqueCheck == null ? [] : [car.torqueCheck.words]), ...(car?.notes ?? [])];
  const told = notes.length > 0 && html`<ul>${notes.map((words) => html`<li>${stopped(words)}</li>`)}</ul>`;
  return html`<h2>Where the time went</h2>${of}${groups.map(groupParagraph)}${grip.map((curve) => gripFigure(curve, groups))}${bars(groups, units)}
<h2>What to change next, one at a time</h2>${advised}${told}<p class="quiet">${NOTE}</p>`;
}
