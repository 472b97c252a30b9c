/** The sentences of the Compare page that are not part of the verdict. Empty where there is nothing to say. */
import type { CompareView } from "../../../shared/contract/judge-views.ts";
import type { Comparison } from "../../../shared/judge/judged-run.ts";
import { apart, percent, quickerOrSlower, reach, stopped as stop } from "../../../shared/judge/wording.ts";
import { gateName, number } from "../../screen/format.ts";

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

/** The second label is shortened to the words that differ from the first: "... on is 0.63 s quicker than off". */
export function headline({ headline, gate, a, b }: Comparison): string {
  const labels = [a.label, b.label].sort((x, y) => headline.indexOf(x) - headline.indexOf(y));
  const [, short] = apart(labels);
  const at = headline.lastIndexOf(labels[1] as string);
  const cut = `${headline.slice(0, at)}${short}${headline.slice(at + (labels[1] as string).length)}`;
  return capital(cut.replace(gate, gateName(gate)));
}

/** "0.65 s quicker, ... (97 %). If the setting did nothing, ...": the verdict as two sentences. */
export function evidence(pair: Comparison): string {
  const [first, ...rest] = pair.verdict.split("; ");
  return [capital(first ?? ""), ...rest.map(capital)].map(stop).join(" ");
}

/** "Compared: slip target 8 % in off, 6 % in on. 4 days, dry and wet: compared within each." */
export function withinWords(pair: Comparison | null, where: readonly string[]): string {
  const only = where.length === 0 ? null : `Only runs with ${where.join(" and ")}`;
  const subject = pair?.subject == null ? null : `Compared: ${pair.subject}`;
  return [only, subject, pair?.within ?? null].flatMap((text) => (text === null ? [] : [stop(capital(text))])).join(" ");
}

/** Why nothing can be compared; of chosen runs also how to choose all again. `key`: that of the choice, empty while single keys are off. */
export function nothingWords({ why, where }: Pick<CompareView, "why" | "where">, key: string): string {
  const all = where.length === 0 ? "" : ` For all runs press ${key || "Runs"}, and leave the line empty.`;
  return `${why === null ? "" : stop(why)}${all}`;
}

/** The gain with every run in; what chance says of it stands among the warnings. */
export function beside({ withAllRuns }: Comparison): string {
  return withAllRuns === null ? "" : stop(`With all runs in: ${withAllRuns.verdict.split("; ")[0]}`);
}

/** Smaller values show as 0 with three digits. */
const LEAST_DRIFT_S = 0.0005;

export function driftWords({ drift, a, b, said, by }: Comparison): string {
  if (drift === null && by.includes("day")) return "Runs of several days: no line of drift runs through them.";
  if (drift === null) return "Too few runs to tell drift from the setting: six and six are needed.";
  const [, name] = apart([a.label, b.label]);
  const none = Math.abs(drift.perRun) < LEAST_DRIFT_S;
  const per = none
    ? "Drift: under a thousandth of a second a run."
    : `Drift: each run ${number(Math.abs(drift.perRun), 3)} s ${drift.perRun > 0 ? "slower" : "quicker"} than the last.`;
  const out = `With that taken out, ${name} is ${quickerOrSlower(drift.adjustedDifference)}, ${reach({ ...drift, coverage: 0.95 })} (95\u00a0%).`;
  const plain = said === null ? "" : ` As driven: ${quickerOrSlower(said.shift)} (${percent(said.coverage)}).`;
  return `${per} ${out}${plain}`;
}

/** Warnings, except the one on drift, which is beside its strip. The last one is the chance where runs were set aside. */
export function warningWords(pair: Comparison): string[] {
  const chance = pair.withAllRuns?.verdict.split("; ").slice(1).join("; ") ?? "";
  return [
    ...pair.warnings.filter((warning) => !warning.startsWith("drift:")).map((warning) => stop(capital(warning))),
    ...(chance === "" ? [] : [stop(`With all runs in: ${chance}`)]),
  ];
}
