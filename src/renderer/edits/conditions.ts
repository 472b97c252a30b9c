/**
 * What people note about a run, as keys and values of the book: conditions, and changes in the controller. An empty value removes a key.
 */
import { byWord, ofWord } from "../../shared/kernel/by-word.ts";

export interface ConditionField {
  readonly key: string;
  readonly name: string;
  readonly hint: string;
}

/** Keys as `gripbook conditions` writes them; Compare names those in which groups differ. */
export const CONDITION_FIELDS: readonly ConditionField[] = [
  { key: "surface", name: "Surface", hint: "dry, damp, wet" },
  { key: "air temperature", name: "Air", hint: "\u00b0C" },
  { key: "road temperature", name: "Road", hint: "\u00b0C" },
  { key: "wind", name: "Wind", hint: "from west, 3 m/s" },
  { key: "tyre", name: "Tyre", hint: "size and tread" },
  { key: "tyre pressures", name: "Pressures", hint: "front, rear, kPa" },
  { key: "occupants", name: "Occupants", hint: "how many, kg" },
  { key: "driver's note", name: "Driver\u2019s note", hint: "" },
  { key: "software version", name: "Controller software", hint: "version" },
];

/** A changed parameter is stored under its name after this word: "changed slip target" = "8 -> 6 %". */
const CHANGED = "changed ";
/** These belong to one run only: the next run starts without them. */
const OF_ONE_RUN = new Set(["driver's note"]);

export interface Change {
  readonly parameter: string;
  readonly before: string;
  readonly after: string;
  readonly unit: string;
}

type Conditions = Readonly<Record<string, string>>;

export const changesOf = (conditions: Conditions): Change[] =>
  Object.entries(conditions)
    .filter(([key]) => key.startsWith(CHANGED))
    .map(([key, value]) => {
      const [before = "", rest = ""] = value.split(" -> ");
      const [after = "", ...unit] = rest.split(" ");
      return { parameter: key.slice(CHANGED.length), before, after, unit: unit.join(" ") };
    });

/** A field's first value: what the run has, otherwise what the run before had. */
export function prefilled(key: string, own: Conditions, before: Conditions): { readonly value: string; readonly fromBefore: boolean } {
  const value = ofWord(own, key);
  if (value !== undefined) return { value, fromBefore: false };
  const earlier = OF_ONE_RUN.has(key) ? undefined : ofWord(before, key);
  return earlier === undefined ? { value: "", fromBefore: false } : { value: earlier, fromBefore: true };
}

/** "12,5" in a field of degrees is read as 12,5 °C. */
const withUnit = (value: string, hint: string) => {
  const unit = /(\u00b0C|kPa)$/.exec(hint)?.[1];
  return unit !== undefined && /^[-+\u2212\d.,;/\s]+$/.test(value) ? `${value}\u00a0${unit}` : value;
};

const glue = (text: string) => text.trim().replaceAll(" ", "\u00a0");

/** The request's `set`: only the changes; null removes a key. */
export function conditionsSet(own: Conditions, fields: Conditions, changes: readonly Change[]): Record<string, string | null> {
  const wanted = byWord<string>();
  for (const [key, value] of Object.entries(fields)) if (value.trim() !== "") wanted[key] = value.trim();
  for (const { parameter, before, after, unit } of changes)
    if (parameter.trim() !== "") wanted[`${CHANGED}${parameter.trim()}`] = `${glue(before)} -> ${glue(after)} ${unit.trim()}`.trim();
  const mine = Object.keys(own).filter((key) => key.startsWith(CHANGED) || Object.hasOwn(fields, key));
  const gone = mine.filter((key) => !Object.hasOwn(wanted, key)).map((key) => [key, null] as const);
  const set = Object.entries(wanted).filter(([key, value]) => ofWord(own, key) !== value);
  return byWord<string | null>([...set, ...gone]);
}

/** Everything noted, one line each: fields first, in their order, then the rest by key. */
export function conditionLines(conditions: Conditions): string[] {
  const known = CONDITION_FIELDS.filter(({ key }) => ofWord(conditions, key) !== undefined).map(
    ({ key, name, hint }) => `${name}: ${withUnit(ofWord(conditions, key) ?? "", hint)}`,
  );
  const other = Object.keys(conditions)
    .filter((key) => !CONDITION_FIELDS.some((field) => field.key === key))
    .sort()
    .map((key) => `${key.charAt(0).toUpperCase()}${key.slice(1)}: ${ofWord(conditions, key)?.replace("->", "\u2192")}`);
  return [...known, ...other];
}
