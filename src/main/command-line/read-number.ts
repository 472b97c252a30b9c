/** Reads a number typed as an option's value. Anything else throws RangeError: the option, what was expected, what came. */

/** `undefined` stays undefined: the option was left out. */
export function readNumber(option: string, text: string | undefined, low: number, high: number): number | undefined {
  if (text === undefined) return undefined;
  const value = text.trim() === "" ? Number.NaN : Number(text);
  if (!(value >= low && value <= high))
    throw new RangeError(`Expected ${option} with a number from ${low} to ${high}, got ${JSON.stringify(text)}`);
  return value;
}
