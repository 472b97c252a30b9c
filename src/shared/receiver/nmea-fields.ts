/** Reads single fields of a sentence from its bytes. An empty or malformed field gives NaN (or null where said): never 0. */
import { DOT } from "../kernel/ascii.ts";
import type { NmeaSentence } from "./nmea-sentence.ts";

const MINUS = 0x2d;
const PLUS = 0x2b;

/** A plain decimal number; NaN if the field is missing, empty or anything else. */
export function fieldNumber(sentence: NmeaSentence, field: number): number {
  if (field >= sentence.fieldCount) return Number.NaN;
  return readDecimal(sentence.bytes, sentence.fieldStart[field], sentence.fieldEnd[field]);
}

/** Digits after the point; 0 without one. */
export function fieldDecimals(sentence: NmeaSentence, field: number): number {
  const { bytes, fieldStart, fieldEnd } = sentence;
  for (let i = fieldStart[field]; i < fieldEnd[field]; i++) if (bytes[i] === DOT) return fieldEnd[field] - i - 1;
  return 0;
}

/** The field's only letter as a character code; -1 if it is empty, missing or longer. */
export function fieldLetter(sentence: NmeaSentence, field: number): number {
  if (field >= sentence.fieldCount || sentence.fieldEnd[field] - sentence.fieldStart[field] !== 1) return -1;
  return sentence.bytes[sentence.fieldStart[field]];
}

/** Milliseconds since midnight from hhmmss or hhmmss.sss; a leap second (:60) is let through; NaN if it is no time. */
export function fieldTimeOfDayMs(sentence: NmeaSentence, field: number): number {
  const value = fieldNumber(sentence, field);
  if (!(value >= 0) || wholeDigits(sentence, field) !== 6) return Number.NaN;
  const whole = Math.floor(value);
  const hours = Math.floor(whole / 10000);
  const minutes = Math.floor(whole / 100) % 100;
  const seconds = whole % 100;
  if (hours > 23 || minutes > 59 || seconds > 60) return Number.NaN;
  // The fraction is read by itself: subtracting the whole part would leave a rounding error.
  const { bytes, fieldStart, fieldEnd } = sentence;
  const fraction = fieldEnd[field] - fieldStart[field] > 7 ? readDecimal(bytes, fieldStart[field] + 6, fieldEnd[field]) : 0;
  return (hours * 3600 + minutes * 60 + seconds) * 1000 + Math.round(fraction * 1e6) / 1000;
}

/** Degrees from (d)ddmm.mmmm and its hemisphere letter in the next field; NaN if either is missing or impossible. */
export function fieldDegrees(sentence: NmeaSentence, field: number, kind: "lat" | "lon"): number {
  const value = fieldNumber(sentence, field);
  const letter = fieldLetter(sentence, field + 1);
  const limit = kind === "lat" ? 90 : 180;
  const positive = kind === "lat" ? 0x4e : 0x45;
  const negative = kind === "lat" ? 0x53 : 0x57;
  if (!(value >= 0) || (letter !== positive && letter !== negative)) return Number.NaN;
  const degrees = Math.floor(value / 100);
  const minutes = value - degrees * 100;
  const angle = degrees + minutes / 60;
  if (minutes >= 60 || angle > limit) return Number.NaN;
  return letter === positive ? angle : 0 - angle;
}

/** Digits before the point. */
function wholeDigits(sentence: NmeaSentence, field: number): number {
  const length = sentence.fieldEnd[field] - sentence.fieldStart[field];
  const decimals = fieldDecimals(sentence, field);
  return decimals > 0 ? length - decimals - 1 : sentence.bytes[sentence.fieldEnd[field] - 1] === DOT ? length - 1 : length;
}

const TENS = Array.from({ length: 16 }, (_, k) => 10 ** k);

function readDecimal(bytes: Uint8Array, from: number, to: number): number {
  let at = from;
  const negative = bytes[from] === MINUS;
  if (at < to && (negative || bytes[from] === PLUS)) at += 1;
  let digits = 0;
  let decimals = 0;
  let value = 0;
  let pointAt = -1;
  for (; at < to; at++) {
    const digit = bytes[at] - 0x30;
    if (digit >= 0 && digit <= 9) {
      digits += 1;
      // Fifteen digits are exact in a double, so one division rounds only once; further digits add nothing.
      if (digits <= 15) {
        value = value * 10 + digit;
        if (pointAt >= 0) decimals += 1;
      } else if (pointAt < 0) return Number.NaN;
    } else if (bytes[at] === DOT && pointAt < 0) pointAt = at;
    else return Number.NaN;
  }
  if (digits === 0) return Number.NaN;
  value /= TENS[decimals];
  return negative ? 0 - value : value;
}
