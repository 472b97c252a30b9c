/** Numbers as text for people. An unknown number is the word "unknown", never 0 and never the last value. */

export const UNKNOWN = "unknown";
const MINUS = "\u2212";
export const THIN = "\u00a0";

/** A number with fixed digits after the point; null or NaN gives "unknown". */
export function number(value: number | null | undefined, digits = 0): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN;
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? `${MINUS}${text}` : text;
}

/** The difference of two numbers as both are shown with these digits: what stands beside each other adds up. */
export const lessAsShown = (a: number, b: number, digits = 0): number =>
  Number((Number(a.toFixed(digits)) - Number(b.toFixed(digits))).toFixed(digits));

/** A number with its unit; only the word where it is unknown. */
export function quantity(value: number | null | undefined, unit: string, digits = 0): string {
  const text = number(value, digits);
  return text === UNKNOWN ? text : `${text}${THIN}${unit}`;
}
