/** The ways of noticing spin as sentences. A way that had nothing to look at says why. */
import { fixed } from "../judge/wording.ts";
import type { NoticeAnswer } from "./notice.ts";
import type { NoticeWay } from "./spin-watch.ts";

const WAYS: Readonly<Record<NoticeWay, string>> = {
  acceleration: "Wheel acceleration over",
  wheels: "Driven against undriven wheels over",
  receiver: "Driven wheels against the receiver over",
};

export function noticeSentence({
  way,
  threshold,
  unit,
  everyS,
  spins,
  missed,
  noticedAfterS,
  falseAlarmsPerMinute,
  why,
}: NoticeAnswer): string {
  const limit = unit === "1" ? `${fixed(100 * threshold, 0)}\u00a0% slip` : `${fixed(threshold, 0)}\u00a0m/s\u00b2`;
  const head = `${WAYS[way]} ${limit}, looking ${fixed(1 / everyS, 0)} times a second`;
  if (why !== null) return `${head}: ${why}`;
  const after = noticedAfterS === null ? "none noticed" : `noticed ${fixed(noticedAfterS.value)}\u00a0s after slip passes it`;
  const alarms = falseAlarmsPerMinute === null ? "" : `, ${fixed(falseAlarmsPerMinute, 1)} false alarms a minute`;
  return `${head}: ${after}, ${missed} of ${spins} spins missed${alarms}.`;
}

export const SPIN_LEAD =
  "Spin is slip over 1.15 times the best, told in hindsight. Each way is replayed over the book's own frames, from what had come by each look.";
