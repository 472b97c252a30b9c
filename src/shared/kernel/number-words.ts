/** Numbers as a person reads them. Unknown is the word, never 0 and never the last value. */

export const UNKNOWN = "unknown";
const MINUS = "\u2212";
const THIN = "\u00a0";

/** A number with fixed digits after the point; null or NaN gives "unknown". */
export function number(value: number | null | undefined, digits = 0): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN;
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? `${MINUS}${text}` : text;
}

/** A number and its unit, or the word alone. */
export function quantity(value: number | null | undefined, unit: string, digits = 0): string {
  const text = number(value, digits);
  return text === UNKNOWN ? text : `${text}${THIN}${unit}`;
}
