/** Sentences of Time lost: what a group lost most to, what was possible, and why it is not known where it is not. */
import { CAUSE_WORDS } from "../../../shared/draw/loss-bars.ts";
import type { Advice } from "../../../shared/tune/advise.ts";
import type { AdvisedGroup } from "../../../shared/tune/advised-group.ts";
import type { CauseLoss, SpeedBand } from "../../../shared/tune/group-losses.ts";
import { gateName, number, plusMinus, quantity } from "../../screen/format.ts";

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

/** What is told of a group: all that was lost, or what was lost at least. */
export const toldLosses = ({ losses, atLeast }: AdvisedGroup): readonly CauseLoss[] => (atLeast === null ? losses : atLeast.losses);
export const toldBands = ({ bands, atLeast }: AdvisedGroup): readonly SpeedBand[] => (atLeast === null ? bands : atLeast.bands);

const sumOf = (losses: readonly CauseLoss[]) => losses.reduce((sum, { seconds }) => sum + seconds, 0);

/** "Traction control on loses 0.33 s to 60 mph, most of it held back." */
export function lostHeadline(group: AdvisedGroup): string {
  const losses = toldLosses(group);
  const [worst] = [...losses].sort((a, b) => b.seconds - a.seconds);
  const name = capital(group.label);
  if (worst === undefined) return `Where ${group.label} lost its time is not known yet.`;
  const least = group.atLeast === null ? "" : "at least ";
  const sum = sumOf(losses);
  const most = worst.seconds > 0.5 * sum ? "most of it" : `${quantity(worst.seconds, "s", 2)} of it`;
  return `${name} loses ${least}${quantity(sum, "s", 2)}, ${gateName(group.gate)}; ${most} ${CAUSE_WORDS[worst.cause]}.`;
}

export function lostLead({ seconds, quickest, why, atLeast }: AdvisedGroup): string {
  const driven = seconds === null ? "" : `${quantity(seconds, "s", 2)} driven on average`;
  if (quickest !== null)
    return `${driven}; ${quantity(quickest.value, "s", 2)} ${plusMinus(quickest.plusMinus95, 2)} possible with this tyre, torque and power.`;
  const most =
    atLeast === null ? "" : `; ${quantity(atLeast.quickestAtMost, "s", 2)} possible with the grip that was seen, and less with more`;
  return [
    ...(driven === "" ? [] : [`${driven}${most}.`]),
    ...(why === null ? [] : [`${capital(why)}${/[.!?]$/.test(why) ? "" : "."}`]),
  ].join(" ");
}

const CHANGE_WORDS: Readonly<Record<Advice["change"], string>> = {
  moreSlip: "More slip",
  lessSlip: "Less slip",
  answerSooner: "Answer sooner",
  askSooner: "Ask sooner",
  askLater: "Ask later",
  calmer: "Calmer",
};

/** "More slip: 8.6 to 17 %". */
export function changeTitle({ change, from, to, unit }: Advice): string {
  const [a, b, word] =
    unit === "1"
      ? [number(100 * from, 1), number(100 * to), "%"]
      : unit === "s"
        ? [number(from, 2), number(to, 2), "s"]
        : [number(from, 1), "none", unit];
  return `${CHANGE_WORDS[change]}: ${a} to ${b === "none" ? b : `${b}\u00a0${word}`}, and nothing else`;
}

export const gainTitle = ({ expectedGainS: { value, plusMinus95 }, gainFrom }: Advice) =>
  `${gainFrom === "losses" ? "at most " : ""}${quantity(value, "s", 2)} ${plusMinus(plusMinus95, 2)} quicker${gainFrom === "simulation" ? ", by simulation" : ""}`;

/** " Slip target: 6 to about 12 %, if ..."; empty where no parameter was noted. */
export const ownWords = ({ own }: Advice) =>
  own === null
    ? ""
    : ` In your units: ${own.parameter} from ${own.now} to about ${own.next}\u00a0${own.unit}, if it grows with what was measured; go there in steps.`;
