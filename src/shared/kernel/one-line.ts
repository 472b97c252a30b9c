/**
 * Text from anywhere as one line that is safe to print. Removes line breaks, terminal controls (ECMA-48) and marks that change the reading
 * order (Unicode Annex 9), and shortens what is too long. A sentence that was not put into its reader's units before is in km/h and m. Pure,
 * linear, never fails.
 */
import { KMH_AND_M, saidIn } from "./shown-units.ts";

/** Long enough for a path, a name and a remedy; too short for a name of megabytes. */
const LONGEST_LINE = 2_000;
/** The remedy stands at the end of a line, so this share of the end is kept. */
const END_SHARE = 0.3;

const BREAKS = /[\n\v\f\r\u0085\u2028\u2029][ \t\n\v\f\r\u0085\u2028\u2029]*/g;
const UNSEEN = /[\p{Cc}\p{Cs}\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]/gu;
const INSTEAD = "\ufffd";

function shortened(text: string, most: number): string {
  if (text.length <= most) return text;
  const end = Math.floor(most * END_SHARE);
  return `${text.slice(0, most - end)} [${text.length - most} characters left out] ${text.slice(text.length - end)}`;
}

/** `most`: the number of characters above which the middle is left out. */
export function oneLine(text: string, most = LONGEST_LINE): string {
  return shortened(saidIn(KMH_AND_M, text), most).replace(BREAKS, " ").replace(UNSEEN, INSTEAD).trim();
}

/** The same for text with line ends that are meant: every line is cleaned by itself. */
export const plainLines = (text: string): string => text.replace(/[^\n]+/g, (line) => line.replace(BREAKS, " ").replace(UNSEEN, INSTEAD));
