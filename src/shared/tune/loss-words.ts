/** Lost time in words, the same on screen, on paper and on the command line. What is not known is said, with why. */
import { number, quantity } from "../kernel/number-words.ts";
import { stopped } from "../judge/wording.ts";
import type { CauseLoss, GroupLosses, SpeedBand } from "./group-losses.ts";
import type { LossCause } from "./losses.ts";

/** In the order in which they are drawn. */
export const CAUSE_WORDS: Readonly<Record<LossCause, string>> = {
  spin: "spun away",
  heldBack: "held back",
  askedLate: "asked late",
  rest: "no cause told",
};

type Told = Pick<GroupLosses, "label" | "seconds" | "quickest" | "why" | "losses" | "bands" | "atLeast">;

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

/** What is told of a group: all that was lost, or what was lost at least. */
export const toldLosses = ({ losses, atLeast }: Told): readonly CauseLoss[] => (atLeast === null ? losses : atLeast.losses);
export const toldBands = ({ bands, atLeast }: Told): readonly SpeedBand[] => (atLeast === null ? bands : atLeast.bands);

/** Seconds by cause, for a bar. */
export function secondsByCause(losses: readonly Pick<CauseLoss, "cause" | "seconds">[]): Record<LossCause, number> {
  const by: Record<LossCause, number> = { spin: 0, heldBack: 0, askedLate: 0, rest: 0 };
  for (const { cause, seconds } of losses) by[cause] = seconds;
  return by;
}

/** "Traction control on loses 0.33 s, 0-60 mph; most of it held back." `gate` as it is to be read. */
export function lostHeadline(group: Told, gate: string): string {
  const losses = toldLosses(group);
  const [worst] = [...losses].sort((a, b) => b.seconds - a.seconds);
  if (worst === undefined) return `Where ${group.label} lost its time is not known yet.`;
  const least = group.atLeast === null ? "" : "at least ";
  const sum = losses.reduce((total, { seconds }) => total + seconds, 0);
  const most = worst.seconds > 0.5 * sum ? "most of it" : `${quantity(worst.seconds, "s", 2)} of it`;
  return `${capital(group.label)} loses ${least}${quantity(sum, "s", 2)}, ${gate}; ${most} ${CAUSE_WORDS[worst.cause]}.`;
}

export function lostLead({ seconds, quickest, why, atLeast }: Told): string {
  const driven = seconds === null ? "" : `${quantity(seconds, "s", 2)} driven on average`;
  if (quickest !== null)
    return `${driven}; ${quantity(quickest.value, "s", 2)} ±\u00a0${number(quickest.plusMinus95, 2)} possible with this tyre, torque and power.`;
  const most =
    atLeast === null ? "" : `; ${quantity(atLeast.quickestAtMost, "s", 2)} possible with the grip that was seen, and less with more`;
  return [...(driven === "" ? [] : [`${driven}${most}.`]), ...(why === null ? [] : [stopped(capital(why))])].join(" ");
}
