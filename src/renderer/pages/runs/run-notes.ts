/** The notes beside a run's figure: flags with their sentences, the note, slip, radius, conditions. What was not noted is left out. */
import { flagWhy, flagWords } from "../../../shared/run/flag-words.ts";
import type { RunRow, RunView } from "../../../shared/contract/contract.ts";
import { type Moment, momentTime, momentWords } from "../../../shared/run/moments.ts";
import type { Flag, SlipSummary } from "../../../shared/run/run.ts";
import { kmhIn } from "../../../shared/kernel/shown-units.ts";
import { el } from "../../screen/dom.ts";
import { number, quantity } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";
import { conditionLines } from "../../edits/conditions.ts";
import type { Window } from "./run-data.ts";

function flagLine(flag: Flag, slip: SlipSummary, onOverrule: (flag: Flag) => void): HTMLElement {
  const { overruled } = flag;
  const button = el("button", { type: "button", class: "small" }, overruled === undefined ? "Overrule" : "Withdraw");
  button.addEventListener("click", () => onOverrule(flag));
  const told = overruled === undefined ? "" : ` Overruled: ${overruled}`;
  return el(
    "li",
    { class: overruled === undefined ? "flag" : "flag overruled" },
    `${flagWords(flag)}: ${flagWhy(flag, slip, units())}${told} `,
    button,
  );
}

/** Pressing the words shows their moment in the figure. Where the figure does not reach there are the words alone: the cursor would stop at its edge. */
function momentLine(moment: Moment, { figure, onMoment }: NotesActs): HTMLElement {
  if (moment.atS < figure.fromS || moment.atS > figure.toS) return el("li", { class: "moment" }, momentWords(moment));
  const words = `${moment.text === "" ? "Marked" : "Note"} ${momentTime(moment)}`;
  const button = el("button", { type: "button", class: "small" }, words);
  button.addEventListener("click", () => onMoment(moment.atS));
  return el("li", { class: "moment" }, button, moment.text === "" ? "" : ` ${moment.text}`);
}

export interface NotesActs {
  /** A person wants a flag not to count, or to count again. */
  readonly onOverrule: (flag: Flag) => void;
  /** Shows a moment in the figure, s from movement. */
  readonly onMoment: (atS: number) => void;
  /** Where the figure's cursor can go, s from movement. */
  readonly figure: Window;
}

export function runNotes(
  run: RunRow,
  { slip, moments, calibration, run: { conditions, measured } }: RunView,
  acts: NotesActs,
): HTMLElement[] {
  const charge = measured.stateOfCharge;
  const noted = conditionLines(conditions);
  return [
    ...(run.final ? [] : [el("li", {}, "Provisional: its times may still change when the recording closes, as Gripbook is closed")]),
    ...run.flags.map((flag) => flagLine(flag, slip, acts.onOverrule)),
    ...moments.map((moment) => momentLine(moment, acts)),
    ...(run.note === "" ? [] : [el("li", {}, `Note: ${run.note}`)]),
    el(
      "li",
      { class: "quiet" },
      `Slip over 10\u00a0% for ${number(slip.secondsAbove10Percent, 1)} s, at most ${quantity(kmhIn(units(), slip.peakSlipSpeedKmh), units().speed, 1)}`,
    ),
    el("li", { class: "quiet" }, `Rolling radius ${number(calibration.rollingRadiusM.value, 4)} m (${calibration.rollingRadiusM.from})`),
    ...(charge === null || charge === undefined ? [] : [el("li", { class: "quiet" }, `Charge ${quantity(charge, "%", 0)}`)]),
    ...(noted.length === 0 ? [el("li", { class: "quiet" }, "No conditions noted yet")] : noted.map((line) => el("li", {}, line))),
  ];
}
