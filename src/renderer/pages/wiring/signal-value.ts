/** A signal's value in words: its label, or a suitable number of digits with its unit; "unknown" before the first value. */
import type { SignalView } from "../../../shared/contract/wiring-contract.ts";
import { number } from "../../screen/format.ts";

export function signalValue(view: SignalView): string {
  if (view.label !== null) return view.label;
  if (view.value === null) return "unknown";
  const digits = Number.isInteger(view.value) ? 0 : Math.abs(view.value) < 10 ? 2 : Math.abs(view.value) < 100 ? 1 : 0;
  return `${number(view.value, digits)}${view.unit === "" ? "" : `\u00a0${view.unit}`}`;
}
