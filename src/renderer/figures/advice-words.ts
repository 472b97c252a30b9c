/** The headings of a piece of advice: the change, the expected gain, and the person's own units where one was noted. */
import type { Advice } from "../../shared/tune/advise.ts";
import { number, plusMinus, quantity } from "../screen/format.ts";

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
  return `${CHANGE_WORDS[change]}: ${a} to ${b === "none" ? b : `${b}\u00a0${word}`}`;
}

export const gainTitle = ({ expectedGainS: { value, plusMinus95 }, gainFrom }: Advice) =>
  `${gainFrom === "losses" ? "at most " : ""}${quantity(value, "s", 2)} ${plusMinus(plusMinus95, 2)} quicker${gainFrom === "simulation" ? ", by simulation" : ""}`;

/** " Slip target: 6 to about 12 %, if ..."; empty where no parameter was noted. */
export const ownWords = ({ own }: Advice) =>
  own === null
    ? ""
    : ` In your units: ${own.parameter} from ${own.now} to about ${own.next}\u00a0${own.unit}, if it grows with what was measured; go there in steps.`;
