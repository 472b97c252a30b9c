/** What is said of a run beside its figure: flags with their sentences, the note, slip, radius, conditions. What was not noted is left out. */
import type { RunRow, RunView } from "../../../shared/contract/contract.ts";
import type { Flag } from "../../../shared/run/run.ts";
import { el } from "../../screen/dom.ts";
import { number, quantity } from "../../screen/format.ts";
import { conditionLines } from "../../edits/conditions.ts";

function flagLine(flag: Flag, onOverrule: (flag: Flag) => void): HTMLElement {
  const { overruled } = flag;
  const button = el("button", { type: "button", class: "small" }, overruled === undefined ? "Overrule" : "Take back");
  button.addEventListener("click", () => onOverrule(flag));
  const told = overruled === undefined ? "" : ` Overruled: ${overruled}`;
  return el("li", { class: overruled === undefined ? "flag" : "flag overruled" }, `${flag.flag}: ${flag.why}${told} `, button);
}

/** `onOverrule`: a person wants a flag not to count, or to count again. */
export function runNotes(
  run: RunRow,
  { slip, calibration, run: { conditions, measured } }: RunView,
  onOverrule: (flag: Flag) => void,
): HTMLElement[] {
  const charge = measured.stateOfCharge;
  const noted = conditionLines(conditions);
  return [
    ...(run.final ? [] : [el("li", {}, "Provisional: its times may still change when the recording closes")]),
    ...run.flags.map((flag) => flagLine(flag, onOverrule)),
    ...(run.note === "" ? [] : [el("li", {}, `Note: ${run.note}`)]),
    el(
      "li",
      { class: "quiet" },
      `Slip over 10\u00a0% for ${number(slip.secondsAbove10Percent, 1)} s, at most ${number(slip.peakSlipSpeedKmh, 1)} km/h`,
    ),
    el("li", { class: "quiet" }, `Rolling radius ${number(calibration.rollingRadiusM.value, 4)} m (${calibration.rollingRadiusM.from})`),
    ...(charge === null || charge === undefined ? [] : [el("li", { class: "quiet" }, `Charge ${quantity(charge, "%", 0)}`)]),
    ...(noted.length === 0 ? [el("li", { class: "quiet" }, "No conditions noted yet")] : noted.map((line) => el("li", {}, line))),
  ];
}
