/** Slip and torque held back as the passenger reads them: the difference of the numerals beside them. Unknown is the word. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { lessAsShown } from "../../../shared/kernel/number-words.ts";
import { heldBackNm } from "../../live/live-trace.ts";
import { number, quantity, UNKNOWN } from "../../screen/format.ts";
import { units } from "../../screen/units.ts";

export function slipWords(live: LiveEvent): string {
  if (live.slipSpeedMps === null) return UNKNOWN;
  if (live.slipRatio !== null) return `${number(live.slipRatio * 100)}\u00a0%`;
  const { wheelSpeedMps: wheel, groundSpeedMps: ground } = live;
  const { perMps, speed } = units();
  // As the pair beside it is shown. Below 1 there is only the receiver's noise.
  const slip = wheel === null || ground === null ? live.slipSpeedMps * perMps : lessAsShown(wheel * perMps, ground * perMps);
  return Math.abs(slip) < 1 ? "none" : quantity(slip, speed);
}

/** While a launch runs it stays a number: a word that comes and goes beside the seam would flicker. */
export function heldWords(live: LiveEvent): string {
  const held = heldBackNm(live);
  if (held === null) return UNKNOWN;
  const shown = held === 0 ? 0 : Math.max(0, lessAsShown(live.torqueRequestNm ?? 0, live.torqueDeliveredNm ?? 0));
  return shown < 1 && live.state !== "launched" ? "none" : quantity(shown, "Nm");
}
