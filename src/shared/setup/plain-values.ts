/** Schemas of a set-up's plain values: a text, a number and a whole number within limits, each with its own words when refused. */
import * as v from "valibot";

export const words = v.pipe(v.string(), v.trim(), v.minLength(1, "expected a name, got an empty text"));
export const between = (low: number, high: number, what: string) =>
  v.pipe(
    v.number((issue) => `expected ${what}, got ${issue.received}`),
    v.minValue(low, (issue) => `expected ${what} from ${low} to ${high}, got ${issue.received}`),
    v.maxValue(high, (issue) => `expected ${what} from ${low} to ${high}, got ${issue.received}`),
  );
export const whole = (low: number, high: number, what: string) =>
  v.pipe(
    between(low, high, what),
    v.integer((issue) => `expected ${what}, a whole number, got ${issue.received}`),
  );
