/**
 * A plan's fields: what they are, how a plan is written into them, and what a person left in them. What is not a number stays text, so that
 * the core names the wrong field.
 */
import type { PlanRequest } from "../../../shared/judge/plan.ts";
import { toTypeIn, typedM } from "../../../shared/kernel/shown-units.ts";
import { el } from "../../screen/dom.ts";
import { units } from "../../screen/units.ts";

export interface Field {
  readonly label: HTMLElement;
  readonly input: HTMLInputElement;
}

function field(name: string, value: string, numeric: boolean, unit = ""): Field {
  const input = el("input", { type: "text", autocomplete: "off", ...(numeric ? { inputmode: "decimal" } : {}) });
  input.value = value;
  const words = unit === "" ? name : `${name}, ${unit}`;
  return { input, label: el("label", { class: numeric ? "narrow" : "" }, words, input) };
}

export interface PlanFields {
  readonly groups: readonly Field[];
  readonly runs: Field;
  readonly length: Field;
  readonly runOff: Field;
  readonly directions: readonly Field[];
  /** From, and to. */
  readonly charge: readonly Field[];
  readonly motor: Field;
  readonly wait: Field;
  readonly hoped: Field;
  readonly wet: HTMLInputElement;
  /** The first group runs without traction control. */
  readonly free: HTMLInputElement;
}

export const createPlanFields = (): PlanFields => ({
  groups: [field("First group", "", false), field("Second group", "", false), field("Further groups, parted by ;", "", false)],
  runs: field("Runs a group", "6", true),
  length: field("Usable length", "", true, units().length),
  runOff: field("Run-off beyond ends and to the sides", "", false),
  directions: [field("First direction", "outbound", false), field("and back", "back", false)],
  charge: [field("Charge min", "", true, "%"), field("max", "", true, "%")],
  motor: field("Motor max", "", true, "°C"),
  wait: field("Wait", "0", true, "s"),
  hoped: field("Expected difference", "", true, "s"),
  wet: el("input", { type: "checkbox" }),
  free: el("input", { type: "checkbox" }),
});

export const inputsOf = ({ groups, runs, length, runOff, directions, charge, motor, wait, hoped, wet, free }: PlanFields) => [
  ...[...groups, runs, length, runOff, ...directions, ...charge, motor, wait, hoped].map(({ input }) => input),
  wet,
  free,
];

/** "900", "4,5": a number; anything else stays text; empty: undefined. */
export function typed(text: string): unknown {
  const trimmed = text.trim();
  if (trimmed === "") return undefined;
  const value = Number(trimmed.replace(",", "."));
  return Number.isFinite(value) ? value : trimmed;
}

const typedLength = (text: string): unknown => {
  const length = typed(text);
  return typeof length === "number" ? typedM(units(), length) : length;
};

/** Fields for one group each; all further ones stand in the last, parted by semicolons. */
const OF_THEIR_OWN = 2;

export const groupNames = ({ groups }: PlanFields) =>
  groups
    .flatMap(({ input }, i) => (i < OF_THEIR_OWN ? [input.value] : input.value.split(";")))
    .map((name) => name.trim())
    .filter((name) => name !== "");

export function writeGroups({ groups }: PlanFields, names: readonly string[]): void {
  groups.forEach(({ input }, i) => {
    input.value = i < OF_THEIR_OWN ? (names[i] ?? "") : names.slice(OF_THEIR_OWN).join("; ");
  });
}

/** Everything but the groups and the box for the first of them; returns the limits that have no field here. */
export function writePlan(fields: PlanFields, request: PlanRequest): PlanRequest["hold"] {
  const { runsPerGroup, usableLengthM, runOffNote, leastWaitS, hold, directionNames, wet } = request;
  fields.runs.input.value = String(runsPerGroup);
  fields.length.input.value = String(toTypeIn(units(), usableLengthM));
  fields.runOff.input.value = runOffNote;
  fields.wait.input.value = String(leastWaitS);
  fields.wet.checked = wet;
  fields.directions.forEach(({ input }, i) => {
    input.value = directionNames?.[i] ?? input.value;
  });
  const { stateOfCharge, motorTemperature, ...others } = hold;
  fields.motor.input.value = String(motorTemperature?.high ?? "");
  fields.charge.forEach(({ input }, i) => {
    input.value = String((i === 0 ? stateOfCharge?.low : stateOfCharge?.high) ?? "");
  });
  return others;
}

const known = (entries: Record<string, unknown>) => Object.fromEntries(Object.entries(entries).filter(([, value]) => value !== undefined));

/** The JSON of a plan file. `others`: limits that have no field here and are kept. */
export function readPlan(fields: PlanFields, gate: string, others: PlanRequest["hold"]): Record<string, unknown> {
  const { runs, length, runOff, directions, charge, motor, wait, wet, free } = fields;
  const names = groupNames(fields);
  const window = known({ low: typed(charge[0]?.input.value ?? ""), high: typed(charge[1]?.input.value ?? "") });
  const below = typed(motor.input.value);
  const hold = known({
    ...others,
    stateOfCharge: Object.keys(window).length === 0 ? undefined : window,
    motorTemperature: below === undefined ? undefined : { high: below },
  });
  return known({
    groups: names,
    // An empty field does not mean six: this is reported.
    runsPerGroup: typed(runs.input.value) ?? "",
    gates: [gate],
    usableLengthM: typedLength(length.input.value),
    directionNames: directions.map(({ input }) => input.value.trim()),
    withoutControl: free.checked ? names.slice(0, 1) : [],
    wet: wet.checked,
    runOffNote: runOff.input.value.trim(),
    hold,
    leastWaitS: typed(wait.input.value),
  });
}

/** Marks the wrong field, by its key in the plan file; null removes every mark. */
export function markField(fields: PlanFields, key: string | null): void {
  const { groups, runs, length, runOff, directions, charge, motor, wait, hoped } = fields;
  const byKey = {
    usableLengthM: [length],
    runOffNote: [runOff],
    runsPerGroup: [runs],
    leastWaitS: [wait],
    "hold.stateOfCharge": charge,
    "hold.motorTemperature": [motor],
    groups,
    directionNames: directions,
    hoped: [hoped],
  };
  for (const [name, marked] of Object.entries(byKey))
    for (const { input } of marked) input.setAttribute("aria-invalid", String(name === key));
}
