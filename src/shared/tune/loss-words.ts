/** Lost time in words, the same on screen, on paper and on the command line. What is unknown says why. */
import { number, quantity } from "../kernel/number-words.ts";
import { kmhIn, type Units } from "../kernel/shown-units.ts";
import { stopped } from "../judge/wording.ts";
import type { CauseLoss, GroupLosses, SpeedBand } from "./group-losses.ts";
import type { LossCause } from "./losses.ts";

/** In drawing order. */
export const CAUSE_WORDS: Readonly<Record<LossCause, string>> = {
  spin: "spun away",
  heldBack: "held back",
  askedLate: "asked late",
  rest: "no cause told",
};

type Told = Pick<GroupLosses, "label" | "seconds" | "quickest" | "why" | "losses" | "bands" | "mphBands" | "atLeast">;

const capital = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}`;

const cents = (seconds: number) => Math.round(100 * Number(seconds.toFixed(2)));

/**
 * Losses to hundredths of a second that add up to the gap as it is shown: from the best time to the driven one, each to a hundredth. What
 * rounding leaves goes to those that it took most from (largest remainder). Losses that do not make up the gap stay as they are.
 */
export function addingUp<L extends { readonly seconds: number }>(losses: readonly L[], drivenS: number, bestS: number): L[] {
  const floors = losses.map(({ seconds }) => Math.floor(100 * seconds));
  const left = cents(drivenS) - cents(bestS) - floors.reduce((sum, floor) => sum + floor, 0);
  if (left < 0 || left > losses.length) return [...losses];
  const remainders = losses.map(({ seconds }, i) => 100 * seconds - (floors[i] as number));
  const up = new Set([...remainders.keys()].sort((a, b) => (remainders[b] as number) - (remainders[a] as number)).slice(0, left));
  return losses.map((loss, i) => ({ ...loss, seconds: ((floors[i] as number) + (up.has(i) ? 1 : 0)) / 100 }));
}

/** What is shown of a group: all that was lost, or the least that was lost. */
export function toldLosses({ seconds, quickest, losses, atLeast }: Told): readonly CauseLoss[] {
  const best = atLeast?.quickestAtMost ?? quickest?.value ?? null;
  const from = atLeast?.losses ?? losses;
  return seconds === null || best === null ? from : addingUp(from, seconds, best);
}

export function toldBands(group: Told, units: Units): readonly SpeedBand[] {
  const { bands, mphBands } = group.atLeast ?? group;
  return units.name === "mph" ? mphBands : bands;
}
/** Where a band begins and ends, as people read it. */
export const bandEnds = ({ fromKmh, toKmh }: Pick<SpeedBand, "fromKmh" | "toKmh">, units: Units): readonly [string, string] => [
  number(kmhIn(units, fromKmh)),
  number(kmhIn(units, toKmh)),
];

/** Seconds by cause, for a bar. */
export function secondsByCause(losses: readonly Pick<CauseLoss, "cause" | "seconds">[]): Record<LossCause, number> {
  const by: Record<LossCause, number> = { spin: 0, heldBack: 0, askedLate: 0, rest: 0 };
  for (const { cause, seconds } of losses) by[cause] = seconds;
  return by;
}

/** Which cause took most of a loss. A cause that took more than all of it was made up for in part: its seconds stand alone. */
function mostWords({ cause, seconds }: Pick<CauseLoss, "cause" | "seconds">, sum: number): string {
  const word = CAUSE_WORDS[cause];
  if (cents(seconds) > cents(sum)) return `${quantity(seconds, "s", 2)} ${word}, made up for in part elsewhere`;
  return seconds > 0.5 * sum ? `most of it ${word}` : `${quantity(seconds, "s", 2)} of it ${word}`;
}

/** "Traction control on loses 0.33 s, 0-60 mph; most of it held back." `gate` as it is read aloud. */
export function lostHeadline(group: Told, gate: string): string {
  const losses = toldLosses(group);
  const [worst] = [...losses].sort((a, b) => b.seconds - a.seconds);
  if (worst === undefined) return `Where ${group.label} lost its time is not known yet.`;
  const least = group.atLeast === null ? "" : "at least ";
  const sum = losses.reduce((total, { seconds }) => total + seconds, 0);
  if (cents(sum) <= 0) return `${capital(group.label)} loses no time that shows, ${gate}.`;
  const loses = `${capital(group.label)} loses ${least}${quantity(sum, "s", 2)}, ${gate}`;
  return `${loses}; ${mostWords(worst, sum)}.`;
}

export function lostLead({ seconds, quickest, why, atLeast }: Told): string {
  const driven = seconds === null ? "" : `${quantity(seconds, "s", 2)} driven on average`;
  if (quickest !== null)
    return `${driven}; ${quantity(quickest.value, "s", 2)} ±\u00a0${number(quickest.plusMinus95, 2)} possible with this tyre, torque and power.`;
  const most =
    atLeast === null ? "" : `; ${quantity(atLeast.quickestAtMost, "s", 2)} possible with the grip that was seen, and less with more`;
  return [...(driven === "" ? [] : [`${driven}${most}.`]), ...(why === null ? [] : [stopped(capital(why))])].join(" ");
}
