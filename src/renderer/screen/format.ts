/** Numbers as text for people. An unknown number is the word, never 0 and never the last value. */
import { THIN } from "../../shared/kernel/number-words.ts";
import { ofWord } from "../../shared/kernel/by-word.ts";
import { pointOf } from "../../shared/run/course-words.ts";

export { number, quantity, UNKNOWN } from "../../shared/kernel/number-words.ts";

const UNIT_WORDS: Readonly<Record<string, string>> = { degC: "\u00b0C", "m/s2": "m/s\u00b2" };

/** A unit as people write it: "degC" in the book is "°C". */
export const unitWord = (unit: string) => ofWord(UNIT_WORDS, unit) ?? unit;

/** Gate names with an en dash between figures: "0-60 mph" reads as "0–60 mph". */
export const gateName = (gate: string) => gate.replace(/(\d)-(\d)/, "$1\u2013$2");

/** The short name of a gate on a post: its final speed, or its distance. */
export const postName = (gate: string) => gate.replace(/^0-(\d)/, "$1");

/** "± 0.012" with a no-break space; empty when no interval is known. */
export const plusMinus = (value: number | null | undefined, digits = 3) =>
  value === null || value === undefined || !Number.isFinite(value) ? "" : `\u00b1${THIN}${value.toFixed(digits)}`;

/** A course in words; empty when unknown. */
export const heading = (courseDeg: number | null) => (courseDeg === null ? "" : pointOf(courseDeg));

/** Splits "traction control on" into what is set and how: ["Traction control", "ON"]; a free label has no "how". */
export function setting(label: string): { readonly what: string; readonly how: string | null } {
  const match = /^(.*?)[\s:=]*\b(on|off)$/i.exec(label.trim());
  const what = match?.[1] ?? label.trim();
  return { what: what === "" ? "Setting" : `${what.charAt(0).toUpperCase()}${what.slice(1)}`, how: match?.[2]?.toUpperCase() ?? null };
}

/** A longer label does not fit beside the run's number, in the passenger's letter size. */
const LABEL_ROOM = 17;

/**
 * A label short enough for beside the run's number: "traction control on" gives "control on". One that is too long keeps its last words, or
 * as many of their letters as fit, and shows that it was cut.
 */
export function shortLabel(label: string): string {
  const whole = label.trim().replace(/^traction (?=control\b)/i, "");
  if (whole.length <= LABEL_ROOM) return whole;
  const end = whole.slice(1 - LABEL_ROOM);
  const words = end.slice(Math.max(0, end.indexOf(" ")));
  return `\u2026${words.length < LABEL_ROOM / 2 ? end : words}`;
}

/** Longer words do not fit beside a mark at arm's length. */
const SHORT = 18;
const STATE_WORD = { fresh: "fresh", stale: "silent", waiting: "waiting", absent: "not there", wrong: "wrong" } as const;

/** A source's health in a word or two; its full line is on Before driving. */
export const healthWord = ({ state, words }: { readonly state: keyof typeof STATE_WORD; readonly words: string }) =>
  words.length <= SHORT ? words : STATE_WORD[state];

/** Created once: creating one takes a thousand times as long as using it. */
const dayFormat = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", timeZone: "UTC" });

/** "4 May" from "2031-05-04"; empty when unknown. */
export const dayWord = (day: string | undefined): string => (day === undefined ? "" : dayFormat.format(Date.parse(day)));

/** A column's name as words: "slipSpeedKmh" gives "Slip speed"; the unit is shown beside it. */
export function columnName(name: string): string {
  const words = name
    .replace(/(Kmh|Nm|Percent|Mps2|(?<=[a-z])M)$/, "")
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .replace(/\.(\d+)$/, (_, i) => ` ${Number(i) + 1}`)
    .toLowerCase();
  return words.charAt(0).toUpperCase() + words.slice(1);
}
