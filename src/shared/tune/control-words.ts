/** What a control was seen to do, as a sentence and as a table. Null or no rows for a control of which nothing was seen. */
import type { Figure } from "./figure.ts";
import type { GroupControl } from "./group-control.ts";
import type { Intervention } from "./interventions.ts";
import type { Units } from "../kernel/shown-units.ts";

const figure = ({ value, plusMinus95 }: Figure, times: number, unit: string, digits: number) =>
  `${(times * value).toFixed(digits)} ± ${(times * plusMinus95).toFixed(digits)}\u00a0${unit}`;

/** One sentence with the medians of a group. */
export function controlSentence(control: GroupControl): string | null {
  const { holdsSlipAt, answersAfterS, overshoot, settlesAfterS, oscillationHz, seenEveryS, costS } = control;
  const parts = [
    holdsSlipAt === null ? [] : [`holds ${figure(holdsSlipAt, 100, "% slip", 1)}`],
    answersAfterS === null ? [] : [`answers ${figure(answersAfterS, 1000, "ms", 0)} after slip passes what it allows`],
    overshoot === null ? [] : [`lets slip peak at ${(1 + overshoot.value).toFixed(1)} times that`],
    settlesAfterS === null ? [] : [`settles after ${figure(settlesAfterS, 1, "s", 2)}`],
    oscillationHz === null ? [] : [`oscillates ${oscillationHz.value.toFixed(1)} times a second`],
    seenEveryS === null
      ? []
      : [seenEveryS.atBus ? "looks with every frame of the bus, or more often" : `looks every ${figure(seenEveryS, 1000, "ms", 0)}`],
    costS === null ? [] : [`costs ${figure(costS, 1, "s", 2)} a run`],
  ].flat();
  return parts.length === 0 ? null : `Control: ${parts.join(", ")}.`;
}

/** Headings of the table of a run's interventions; "mark" is the number beside it in the figure. */
export const INTERVENTION_HEADS = [
  "mark",
  "from",
  "at",
  "allowed slip",
  "answer",
  "deepest",
  "peak slip",
  "settled",
  "oscillates",
  "cost",
] as const;

const known = (value: number | null, times: number, unit: string, digits: number) =>
  value === null ? "–" : `${(times * value).toFixed(digits)}\u00a0${unit}`;

/** One row for each intervention, texts in the order of the headings; times count from `movementS`. A dash means unknown. */
export function interventionRows(interventions: readonly Intervention[], movementS: number, { perMps, speed }: Units): string[][] {
  return interventions.map((one, i) => [
    String(i + 1),
    known(one.fromS - movementS, 1, "s", 2),
    known(one.speedMps, perMps, speed, 0),
    known(one.levelMps, perMps, speed, 1),
    known(one.answersAfterS, 1000, "ms", 0),
    `${one.deepestNm.toFixed(0)}\u00a0Nm (${(100 * one.deepestShare).toFixed(0)}\u00a0%)`,
    known(one.peakSlipMps, perMps, speed, 1),
    known(one.settlesAfterS, 1, "s", 2),
    known(one.oscillationHz, 1, "Hz", 1),
    known(one.costS, 1, "s", 2),
  ]);
}
