/**
 * What people note about runs, as keys and values of the book: conditions, and changes in the controller. An empty value removes a key, and
 * leaves what different runs noted differently; "-" removes that too.
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
  { key: "front tyre pressure", name: "Front tyre pressure", hint: "kPa" },
  { key: "rear tyre pressure", name: "Rear tyre pressure", hint: "kPa" },
  { key: "occupants", name: "Occupants", hint: "how many, kg" },
  { key: "software version", name: "Controller software", hint: "" },
  { key: "driver's note", name: "Driver\u2019s note", hint: "" },
];

/** A changed parameter is stored under its name after this word: "changed slip target" = "8 -> 6 %". */
const CHANGED = "changed ";
/** As the core notes a kept file, and what was overruled before driving. */
export const FILE_KEY = "controller file";
const BY_THE_CORE = new Set([FILE_KEY, "before driving"]);
/** These belong to one run only: the next run starts without them. So does a value with an arrow, a change. */
const OF_ONE_RUN = new Set(["driver's note"]);
const ARROW = "->";
/** Removes what different runs noted differently, as in the command `table`. */
const NONE = "-";

export interface Change {
  readonly parameter: string;
  readonly before: string;
  readonly after: string;
  readonly unit: string;
}

/** A condition under a name of people's own. */
interface OwnCondition {
  readonly key: string;
  readonly value: string;
}

type Conditions = Readonly<Record<string, string>>;

const isField = (key: string) => CONDITION_FIELDS.some((field) => field.key === key);

/** Whether its line is among the own conditions: it has no field, and is no change. */
export const isOwn = (key: string): boolean => !isField(key) && !BY_THE_CORE.has(key) && !key.startsWith(CHANGED);

/** Different texts that the runs noted under a key; "" of those that noted nothing. */
const textsOf = (all: readonly Conditions[], key: string) => [...new Set(all.map((conditions) => ofWord(conditions, key) ?? ""))];

/** Those that all runs noted alike, by key. */
const alike = (all: readonly Conditions[]): [string, string][] =>
  Object.entries(all[0] ?? {}).filter(([key]) => textsOf(all, key).length === 1);

/** The changes that all these runs noted. */
export const changesOf = (all: readonly Conditions[]): Change[] =>
  alike(all)
    .filter(([key]) => key.startsWith(CHANGED))
    .map(([key, value]) => {
      const [before = "", rest = ""] = value.split(` ${ARROW} `);
      const [after = "", ...unit] = rest.split(" ");
      return { parameter: key.slice(CHANGED.length), before, after, unit: unit.join(" ") };
    });

export interface Prefilled {
  readonly value: string;
  readonly fromBefore: boolean;
  /** What the runs noted instead of one text; empty where they agree. */
  readonly differ: readonly string[];
}

/** A field's first value: what the runs have, otherwise what the run before had. */
export function prefilled(key: string, all: readonly Conditions[], before: Conditions): Prefilled {
  const texts = textsOf(all, key);
  const [value = ""] = texts;
  if (texts.length > 1) return { value: "", fromBefore: false, differ: texts };
  const earlier = value !== "" || OF_ONE_RUN.has(key) ? undefined : ofWord(before, key);
  if (earlier === undefined || earlier.includes(ARROW)) return { value, fromBefore: false, differ: [] };
  return { value: earlier, fromBefore: true, differ: [] };
}

/** Keys of people's own that one of the runs noted, or the run before. */
export const ownKeys = (all: readonly Conditions[], before: Conditions): string[] => {
  const lent = Object.keys(before).filter((key) => prefilled(key, all, before).fromBefore);
  return [...new Set([...all.flatMap((conditions) => Object.keys(conditions)), ...lent])].filter(isOwn).sort();
};

const unitOf = (hint: string) => /(\u00b0C|kPa)$/.exec(hint)?.[1];
/** Pascal for each, exact but for psi (NIST SP 811, appendix B.8: 6.894 757 kPa). */
const KPA: Readonly<Record<string, number>> = { bar: 100, psi: 6.894757 };

/** Why a value cannot be kept in a field; null where it can. One unit a field: figures in two would be compared as if they were in one. */
export function valueFault(value: string, hint: string): string | null {
  if (unitOf(hint) !== "kPa") return null;
  const match = /^(\d+(?:[.,]\d+)?)\s*([a-z]+)$/i.exec(value.trim());
  const factor = ofWord(KPA, match?.[2]?.toLowerCase() ?? "");
  if (match === null || factor === undefined) return null;
  return `In kPa: ${value.trim()} are ${Math.round(Number((match[1] as string).replace(",", ".")) * factor)}`;
}

/** "12,5" in a field of degrees is read as 12,5 °C. */
const withUnit = (value: string, hint: string) => {
  const unit = unitOf(hint);
  return unit !== undefined && /^[-+\u2212\d.,;/\s]+$/.test(value) ? `${value}\u00a0${unit}` : value;
};

const glue = (text: string) => text.trim().replaceAll(" ", "\u00a0");

export interface SaidConditions {
  /** By key, as typed. */
  readonly fields: Conditions;
  readonly own: readonly OwnCondition[];
  readonly changes: readonly Change[];
}

function wantedOf({ fields, own, changes }: SaidConditions): Record<string, string> {
  const wanted = byWord<string>();
  for (const [key, value] of [...Object.entries(fields), ...own.map(({ key, value }) => [key.trim(), value] as const)])
    if (key !== "" && value.trim() !== "") wanted[key] = value.trim();
  for (const { parameter, before, after, unit } of changes)
    if (parameter.trim() !== "") wanted[`${CHANGED}${parameter.trim()}`] = `${glue(before)} ${ARROW} ${glue(after)} ${unit.trim()}`.trim();
  return wanted;
}

/** What these runs are to have from now on, by key; null removes one. Only what one of them has differently. */
export function conditionsSet(all: readonly Conditions[], said: SaidConditions): Record<string, string | null> {
  const wanted = wantedOf(said);
  const shown = (key: string) => key.startsWith(CHANGED) || Object.hasOwn(said.fields, key) || isOwn(key);
  const gone = alike(all).filter(([key]) => shown(key) && !Object.hasOwn(wanted, key));
  const set = Object.entries(wanted).filter(([key, value]) => textsOf(all, key).some((text) => text !== (value === NONE ? "" : value)));
  return byWord<string | null>([
    ...set.map(([key, value]) => [key, value === NONE ? null : value] as const),
    ...gone.map(([key]) => [key, null] as const),
  ]);
}

/** Of such a set what this run has differently; null where it has all of it. */
export function changedFor(conditions: Conditions, set: Readonly<Record<string, string | null>>): Record<string, string | null> | null {
  const changed = Object.entries(set).filter(([key, value]) => (ofWord(conditions, key) ?? null) !== value);
  return changed.length === 0 ? null : byWord(changed);
}

/** Everything noted, one line each: fields first, in their order, then the rest by key. */
export function conditionLines(conditions: Conditions): string[] {
  const known = CONDITION_FIELDS.filter(({ key }) => ofWord(conditions, key) !== undefined).map(
    ({ key, name, hint }) => `${name}: ${withUnit(ofWord(conditions, key) ?? "", hint)}`,
  );
  const other = Object.keys(conditions)
    .filter((key) => !isField(key))
    .sort()
    .map((key) => `${key.charAt(0).toUpperCase()}${key.slice(1)}: ${ofWord(conditions, key)?.replace(ARROW, "\u2192")}`);
  return [...known, ...other];
}
