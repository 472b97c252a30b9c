/**
 * JSON that keeps every number exactly. Plain JSON turns infinities and NaN into null; here they are spelled out. Broken text throws
 * SyntaxError.
 */

const SPELLED = "$number";
const NAMES: Readonly<Record<string, number>> = {
  Infinity: Number.POSITIVE_INFINITY,
  "-Infinity": Number.NEGATIVE_INFINITY,
  NaN: Number.NaN,
  "-0": -0,
};

export function toExactJson(value: unknown): string {
  return JSON.stringify(value, (_key, item: unknown) => {
    if (typeof item !== "number" || (Number.isFinite(item) && !Object.is(item, -0))) return item;
    return { [SPELLED]: Object.is(item, -0) ? "-0" : String(item) };
  });
}

export function fromExactJson(text: string): unknown {
  // Nothing is spelled out in most texts, and a look at every value takes ten times as long.
  if (!text.includes(SPELLED)) return JSON.parse(text);
  return JSON.parse(text, (_key, item: unknown) => {
    if (typeof item !== "object" || item === null) return item;
    const spelled = (item as Record<string, unknown>)[SPELLED];
    return typeof spelled === "string" && Object.hasOwn(NAMES, spelled) ? NAMES[spelled] : item;
  });
}
