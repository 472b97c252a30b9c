/**
 * Text from anywhere as one line that shows what it is: no line breaks, nothing that moves a cursor or paints a terminal (ECMA-48 controls), nothing that
 * turns the reading order (Unicode Annex 9), and never longer than a person reads. Pure, linear, never fails.
 */

/** A path, a name and a remedy fit; a name of megabytes does not. */
const LONGEST_LINE = 2_000;
/** A line's remedy stands at its end. */
const END_SHARE = 0.3;

const BREAKS = /[\n\v\f\r\u0085\u2028\u2029][ \t\n\v\f\r\u0085\u2028\u2029]*/g;
const UNSEEN = /[\p{Cc}\p{Cs}\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]/gu;
const INSTEAD = "\ufffd";

function shortened(text: string, most: number): string {
  if (text.length <= most) return text;
  const end = Math.floor(most * END_SHARE);
  return `${text.slice(0, most - end)} [${text.length - most} characters left out] ${text.slice(text.length - end)}`;
}

/** `most`: characters before something is left out of the middle. */
export function oneLine(text: string, most = LONGEST_LINE): string {
  return shortened(text, most).replace(BREAKS, " ").replace(UNSEEN, INSTEAD).trim();
}

/** The same of text whose line ends are meant: every line is kept as one. */
export const plainLines = (text: string): string => text.replace(/[^\n]+/g, (line) => line.replace(BREAKS, " ").replace(UNSEEN, INSTEAD));
