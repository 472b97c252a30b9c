/**
 * Asks for the conditions of one run or several and for what was changed in the controller, filled in from what they share; of one run also from the run
 * before. Closing the dialog gives no answer.
 */
import { el } from "../screen/dom.ts";
import { openDialog, submit } from "../screen/dialogs.ts";
import {
  type Change,
  CONDITION_FIELDS,
  changesOf,
  conditionsSet,
  FILE_KEY,
  isOwn,
  ownKeys,
  type Prefilled,
  prefilled,
  valueFault,
} from "./conditions.ts";

const PARTS = ["parameter", "before", "after", "unit"] as const;
const PART_NAME = { parameter: "Changed parameter", before: "Value before", after: "Value after", unit: "Unit" } as const;
/** Empty rows for further parameters, and for further conditions. */
const SPARE_ROWS = 2;
const SPARE_CONDITIONS = 2;
/** As many letters as the contract lets a key and a value have are more than a line shows. */
const KEY_LETTERS = 80;
const VALUE_LETTERS = 200;

export interface ConditionsQuestion {
  /** "run 7", "4 runs". */
  readonly of: string;
  /** Of each run. */
  readonly noted: readonly Readonly<Record<string, string>>[];
  /** Conditions of the run before, and its number. */
  readonly before: { readonly run: number; readonly conditions: Readonly<Record<string, string>> } | null;
  /** Names that were used in this book. */
  readonly keys: readonly string[];
  /** A sentence about what need not be typed. */
  readonly told: string;
}

export interface ConditionsAnswer {
  /** The keys to set, and with null to remove. */
  readonly set: Record<string, string | null>;
  /** A file to keep with them. */
  readonly file: File | null;
}

const line = (most: number, value = "") => {
  const input = el("input", { type: "text", maxlength: most, autocomplete: "off" });
  input.value = value;
  return input;
};

/** In an empty field: what different runs noted. */
function sayDifferent(input: HTMLInputElement, { differ }: Prefilled): void {
  const texts = differ.map((text) => (text === "" ? "nothing" : `\u201c${text}\u201d`));
  if (texts.length > 0) input.placeholder = `noted: ${texts.join(", ")}`;
}

/** The fields that every run has. */
function fieldRows(first: (key: string) => Prefilled) {
  return CONDITION_FIELDS.map(({ key, name, hint }) => {
    const start = first(key);
    const input = line(VALUE_LETTERS, start.value);
    sayDifferent(input, start);
    const words = el("span", {}, name, hint === "" ? "" : el("span", { class: "quiet" }, ` ${hint}`));
    input.addEventListener("input", () => input.setCustomValidity(""));
    return { key, hint, input, was: start.value, element: el("label", { class: key === "driver's note" ? "wide" : "" }, words, input) };
  });
}

const NAMES_LIST = "condition-names";

/** Conditions under people's own names: those noted, and room for more. */
function ownRows(known: readonly string[], first: (key: string) => Prefilled) {
  const row = (key: string) => {
    const start = key === "" ? null : first(key);
    const [name, value] = [line(KEY_LETTERS, key), line(VALUE_LETTERS, start?.value)];
    name.setAttribute("list", NAMES_LIST);
    if (start === null) [name.placeholder, value.placeholder] = ["such as slip target", "number and unit"];
    else sayDifferent(value, start);
    name.addEventListener("input", () => name.setCustomValidity(""));
    return { was: key, name, value, parts: [el("label", {}, "Own condition", name), el("label", {}, "Value", value)] };
  };
  return [...known, ...Array.from({ length: SPARE_CONDITIONS }, () => "")].map(row);
}

function changeRows(changes: readonly Change[]) {
  const spare = Array.from({ length: SPARE_ROWS }, (): Change => ({ parameter: "", before: "", after: "", unit: "" }));
  return [...changes, ...spare].map((change) =>
    PARTS.map((part) => {
      const input = line(KEY_LETTERS, change[part]);
      return { part, input, element: el("label", {}, PART_NAME[part], input) };
    }),
  );
}

/** Why a new name cannot be kept; null where it can. */
function nameFault(name: string, value: string, others: readonly string[]): string | null {
  if (name === "") return value === "" ? null : "A value needs the name of its condition";
  const field = CONDITION_FIELDS.find((known) => known.key === name.toLowerCase() || known.name.toLowerCase() === name.toLowerCase());
  if (field !== undefined) return `${field.name} has a field of its own above`;
  if (!isOwn(name)) return "This name is Gripbook\u2019s own: choose another";
  return others.includes(name) ? "This name stands in another line" : null;
}

/** Marks the first row whose name cannot be kept; true where there is none. */
function namesHold(rows: ReturnType<typeof ownRows>): boolean {
  const names = rows.map(({ name }) => name.value.trim());
  for (const [i, { was, name, value }] of rows.entries()) {
    const typed = names[i] as string;
    // A name that is in the book stays, whatever it is.
    if (typed !== "" && typed === was) continue;
    name.setCustomValidity(nameFault(typed, value.value.trim(), names.toSpliced(i, 1)) ?? "");
    if (!name.reportValidity()) return false;
  }
  return true;
}

/** Marks the first value that has another unit than its field; true where there is none. What is in the book stays. */
function valuesHold(rows: ReturnType<typeof fieldRows>): boolean {
  return rows.every(({ hint, input, was }) => {
    input.setCustomValidity(input.value === was ? "" : (valueFault(input.value, hint) ?? ""));
    return input.reportValidity();
  });
}

/** Null when closed without an answer. */
export async function askConditions({ of, noted, before, keys, told }: ConditionsQuestion): Promise<ConditionsAnswer | null> {
  const lent = before?.conditions ?? {};
  let borrowed = false;
  const first = (key: string) => {
    const start = prefilled(key, noted, lent);
    borrowed ||= start.fromBefore;
    return start;
  };
  const [fields, own, changes] = [fieldRows(first), ownRows(ownKeys(noted, lent), first), changeRows(changesOf(noted))];
  const file = el("input", { type: "file" });
  const kept = prefilled(FILE_KEY, noted, {}).value;
  const from = borrowed && before !== null ? `Filled in from run ${before.run}: check each line. ` : "";
  const form = el(
    "form",
    { method: "dialog" },
    el("h2", { class: "lead" }, `Conditions of ${of}`),
    el("p", { class: "small" }, `${from}${told}`),
    el("div", { class: "fields" }, ...fields.map(({ element }) => element)),
    el("datalist", { id: NAMES_LIST }, ...keys.filter(isOwn).map((key) => el("option", { value: key }))),
    el("div", { class: "own" }, ...own.flatMap(({ parts }) => parts)),
    el("div", { class: "changes" }, ...changes.flatMap((row) => row.map(({ element }) => element))),
    el("label", {}, `The controller\u2019s file, kept with ${of} by its SHA-256.${kept === "" ? "" : ` Kept: ${kept}`}`, file),
    el("div", { class: "buttons" }, submit("Keep", "yes", true), submit("Close", "", false)),
  );
  // A name that cannot be kept must not keep the dialog from closing.
  form.noValidate = true;
  form.addEventListener("submit", (event) => {
    if (event.submitter?.getAttribute("value") === "yes" && !(valuesHold(fields) && namesHold(own))) event.preventDefault();
  });
  if ((await openDialog(el("dialog", { "aria-label": `Conditions of ${of}`, class: "conditions" }, form))) !== "yes") return null;
  const said = {
    fields: Object.fromEntries(fields.map(({ key, input }) => [key, input.value])),
    own: own.map(({ name, value }) => ({ key: name.value, value: value.value })),
    changes: changes.map((row) => Object.fromEntries(row.map(({ part, input }) => [part, input.value])) as unknown as Change),
  };
  return { set: conditionsSet(noted, said), file: file.files?.[0] ?? null };
}
