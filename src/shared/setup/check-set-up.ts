/**
 * Checks the JSON of a set-up file and gives it as a typed SetUp. Throws SetUpError: one line that names the place, what was expected, what
 * came and what to do.
 */
import * as v from "valibot";
import { between, words } from "./plain-values.ts";
import { sources } from "./check-sources.ts";
import type { DraftSetUp } from "./draft-set-up.ts";
import { LIST_ROLES, REQUIRED_ROLES, SINGLE_ROLES } from "./roles.ts";
import type { SetUp, SignalChoice } from "./set-up.ts";
import { parseTyreSize } from "./tyre-size.ts";

/** The set-up file cannot be used as it stands. */
export class SetUpError extends Error {
  readonly code = "set-up";
}

const drivenAxle = v.picklist(["rear", "front"], (issue) =>
  /all|both|4|four|awd|rear.*front|front.*rear/i.test(String(issue.input))
    ? `two driven axles are not supported yet: ground speed would have no free-rolling wheel; expected "rear" or "front", got ${issue.received}`
    : `expected "rear" or "front", got ${issue.received}`,
);

const tyre = v.pipe(
  words,
  v.check(
    (marking) => readsAsTyre(marking),
    (issue) => `expected a tyre size like "265/35R19", got ${issue.received}`,
  ),
);

const car = v.strictObject({
  name: words,
  massKg: between(100, 10_000, "a mass in kg"),
  drivenAxle,
  gearRatio: between(0.5, 50, "motor turns per turn of the driven wheel"),
  tyre: v.optional(tyre),
  rollingRadiusM: v.optional(between(0.1, 1, "a rolling radius in m")),
  wheelbaseM: v.optional(between(0.5, 10, "a wheelbase in m")),
  cgHeightM: v.optional(between(0.05, 3, "a height in m")),
  frontWeightShare: v.optional(between(0.1, 0.9, "a share of the weight (0.48 for 48 %)")),
  wheelInertiaKgM2: v.optional(between(0, 200, "an inertia in kg m2")),
  dragAreaM2: v.optional(between(0.05, 5, "a drag area in m2")),
});

const SIGNAL_NAME = /^[A-Za-z_]\w*\.[A-Za-z_]\w*$/;
const namedAsThere = (issue: { readonly received: string }) => `expected "Message.Signal" as in the signal file, got ${issue.received}`;
const signalName = v.pipe(v.string(namedAsThere), v.regex(SIGNAL_NAME, namedAsThere));
const choice = v.pipe(
  v.union([signalName, v.strictObject({ signal: signalName, invert: v.optional(v.boolean(), false) })], (issue) =>
    Array.isArray(issue.input)
      ? `expected one signal, got a list; only ${LIST_ROLES.join(" and ")} take lists`
      : `expected "Message.Signal" or {"signal": "Message.Signal", "invert": true}, got ${issue.received}`,
  ),
  v.transform((value): SignalChoice => (typeof value === "string" ? { signal: value, invert: false } : value)),
);
const optionalChoice = v.optional(choice);
const choiceList = v.optional(
  v.pipe(
    v.array(choice, (issue) => `expected a list of signals such as ["Message.Signal"], got ${issue.received}`),
    v.minLength(1, "expected at least one signal, got an empty list; leave the key out instead"),
  ),
);
const signals = v.strictObject({
  ...(Object.fromEntries(Object.keys(SINGLE_ROLES).map((role) => [role, optionalChoice])) as Record<
    keyof typeof SINGLE_ROLES,
    typeof optionalChoice
  >),
  ...(Object.fromEntries(LIST_ROLES.map((role) => [role, choiceList])) as Record<(typeof LIST_ROLES)[number], typeof choiceList>),
});

/** For editors: where the JSON Schema of this file is. Gripbook does not read it. */
const $schema = v.optional(v.string());

/** The whole file as people write it; what relates two of its keys is checked after it. */
export const setUpSchema = v.strictObject({
  $schema,
  car,
  sources: v.optional(sources, {}),
  database: v.pipe(
    v.union(
      [words, v.pipe(v.array(words), v.minLength(1, "expected at least one signal file (DBC), got an empty list"))],
      (issue) => `expected a signal file or a list of them, got ${issue.received}`,
    ),
    v.transform((value) => (typeof value === "string" ? [value] : value)),
  ),
  signals,
});

/** The car needs one of these. */
export const RADIUS_KEYS = ["tyre", "rollingRadiusM"] as const;

/** Checks parsed JSON. `file` is the set-up's name in messages. Throws SetUpError. */
export function checkSetUp(json: unknown, file = "set-up"): SetUp {
  const result = v.safeParse(setUpSchema, json, { abortEarly: false });
  if (!result.success) throw new SetUpError(`${file}: ${describe(deepest(result.issues[0]))}`);
  const { $schema: _editors, ...output } = result.output;
  for (const role of REQUIRED_ROLES) {
    if (output.signals[role] === undefined) {
      throw new SetUpError(`${file}: signals.${role} is missing: expected "Message.Signal"; name the signal that carries it`);
    }
  }
  if (RADIUS_KEYS.every((key) => output.car[key] === undefined)) {
    throw new SetUpError(`${file}: car needs "tyre" (such as "265/35R19") or "rollingRadiusM": add one of the two`);
  }
  refuseDoubleUse(output.signals, file);
  return output as SetUp;
}

const draftSchema = v.strictObject({
  $schema,
  car: v.optional(v.partial(car), {}),
  sources: v.optional(sources, {}),
  database: v.optional(
    v.pipe(
      v.union([words, v.array(words)]),
      v.transform((value) => (typeof value === "string" ? [value] : value)),
    ),
    [],
  ),
  signals: v.optional(signals, {}),
});

/** Checks a set-up that is still being made: parts may be missing, none may be wrong. Throws SetUpError. */
export function checkDraft(json: unknown, file = "set-up"): DraftSetUp {
  const result = v.safeParse(draftSchema, json, { abortEarly: false });
  if (!result.success) throw new SetUpError(`${file}: ${describe(deepest(result.issues[0]))}`);
  refuseDoubleUse(result.output.signals, file);
  return result.output as DraftSetUp;
}

interface IssueLike {
  readonly type: string;
  readonly message: string;
  readonly expected: string | null;
  readonly received: string;
  readonly input?: unknown;
  readonly path?: readonly { readonly key: unknown }[] | undefined;
  readonly issues?: readonly IssueLike[] | undefined;
}

/** In a union of text and object, the object's own error tells more than "neither fits". A list passes for an object, and its error would name a key that nobody wrote. */
function deepest(issue: IssueLike): IssueLike {
  const inner =
    issue.type === "union" && !Array.isArray(issue.input)
      ? issue.issues?.find((each) => each.type === "strict_object" && each.received !== "Object" && each.path !== undefined)
      : undefined;
  return inner === undefined ? issue : { ...inner, path: [...(issue.path ?? []), ...(inner.path ?? [])] };
}

function describe(issue: IssueLike): string {
  const place = (issue.path ?? []).map((item) => String(item.key)).join(".") || "the file";
  if (issue.type === "strict_object" && issue.expected === "never") {
    const parent = (issue.path ?? [])
      .slice(0, -1)
      .map((item) => String(item.key))
      .join(".");
    return `unknown key ${JSON.stringify(String(issue.path?.at(-1)?.key))}${parent === "" ? "" : ` in ${parent}`}: remove it or correct its spelling (docs/set-up.md lists all keys)`;
  }
  if (issue.received === "undefined") return `${place} is missing: add it (docs/set-up.md says what it means)`;
  return `${place}: ${/^Invalid/.test(issue.message) ? `expected ${issue.expected ?? "another value"}, got ${issue.received}` : issue.message}`;
}

function refuseDoubleUse(choices: Readonly<Record<string, unknown>>, file: string): void {
  for (const role of LIST_ROLES) {
    const list = (choices[role] ?? []) as readonly SignalChoice[];
    const twice = list.find((each, i) => list.findIndex((other) => other.signal === each.signal) !== i);
    if (twice !== undefined) throw new SetUpError(`${file}: signals.${role} names ${twice.signal} twice: each wheel needs its own signal`);
  }
  const undriven = new Set(((choices.undrivenWheelSpeeds ?? []) as readonly SignalChoice[]).map((each) => each.signal));
  const both = ((choices.drivenWheelSpeeds ?? []) as readonly SignalChoice[]).find((each) => undriven.has(each.signal));
  if (both !== undefined)
    throw new SetUpError(`${file}: ${both.signal} is named as driven and as undriven wheel: a wheel is one or the other`);
}

function readsAsTyre(marking: string): boolean {
  try {
    parseTyreSize(marking);
    return true;
  } catch (cause) {
    if (cause instanceof RangeError) return false;
    throw cause;
  }
}
