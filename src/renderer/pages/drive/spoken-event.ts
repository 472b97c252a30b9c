/** What is read aloud of what happened on Drive. Pure. */
import type { LiveEvent } from "../../../shared/contract/contract.ts";
import { gateName, number } from "../../screen/format.ts";
import { HERO_DIGITS, lastPassed } from "./drive-view.ts";

/** Words that are read aloud: only events, never a stream of numbers. Null when nothing worth saying happened. */
export function happened(before: LiveEvent | null, now: LiveEvent): string | null {
  if (before === null) return null;
  const gate = lastPassed(now);
  if (now.state === "launched" && before.state === "launched" && gate !== undefined && gate.gate !== lastPassed(before)?.gate)
    return `${gateName(gate.gate)}: ${number(gate.seconds, HERO_DIGITS)} seconds`;
  if (now.state !== before.state) return now.state === "standing" ? "Ready" : `${now.state.charAt(0).toUpperCase()}${now.state.slice(1)}`;
  for (const [name, was, is] of [
    ["Receiver", before.gnss, now.gnss],
    ["Bus", before.can, now.can],
  ] as const) {
    if (was.state === "fresh" && is.state !== "fresh") return `${name} lost: ${is.words}`;
  }
  return null;
}
