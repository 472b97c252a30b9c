/**
 * Binds the set-up's roles to signals of the signal files, with the conversion to the role's SI unit. An impossible choice throws
 * RoleError: one line that names role and signal, what was expected, and what to do.
 */
import { LIST_ROLES, type ListRole, SINGLE_ROLES, type SingleRole } from "../setup/roles.ts";
import type { RoleChoices, SignalChoice } from "../setup/set-up.ts";
import type { SignalDatabase, SignalDecoder } from "../dbc/dbc-decode.ts";
import { nearNames } from "./near-names.ts";
import { conversionOf, type UnitConversion } from "./signal-units.ts";

/** A role choice that the signal files cannot fulfil. */
export class RoleError extends Error {
  override readonly name = "RoleError";
  readonly role: SingleRole | ListRole;
  constructor(role: SingleRole | ListRole, problem: string) {
    super(`signals.${role}: ${problem}`);
    this.role = role;
  }
}

/** One signal in one role. */
export interface RoleBinding {
  readonly role: SingleRole | ListRole;
  readonly decoder: SignalDecoder;
  readonly conversion: UnitConversion;
  readonly invert: boolean;
  /** Least step in the SI unit; 0 for floating point. */
  readonly quantum: number;
  /** Raw values whose label says that no value is available. */
  readonly noValue: ReadonlySet<number>;
}

const NO_CONVERSION: UnitConversion = { unit: "", scale: 1, offset: 0 };
/** Common practice, no source: how signal files label a raw value that means "unknown". */
const NO_VALUE = /\b(?:sna|n\/?a|not.?available|not.?valid|invalid|unknown|undefined|error|fault(?:y)?|init)\b/i;

/** All bindings of the set-up: roles in their own order, lists in the order of the set-up. */
export function bindRoles(database: SignalDatabase, choices: RoleChoices): RoleBinding[] {
  const bindings: RoleBinding[] = [];
  for (const role of Object.keys(SINGLE_ROLES) as SingleRole[]) {
    const choice = choices[role];
    if (choice !== undefined) bindings.push(bindRole(database, role, choice));
  }
  for (const role of LIST_ROLES) for (const choice of choices[role] ?? []) bindings.push(bindRole(database, role, choice));
  return bindings;
}

/** Binds one signal to one role; throws RoleError. */
export function bindRole(database: SignalDatabase, role: SingleRole | ListRole, choice: SignalChoice): RoleBinding {
  const decoder = findSignal(database, role, choice.signal);
  const { signal } = decoder;
  if (signal.factor === 0)
    throw new RoleError(
      role,
      `signal ${decoder.name} has factor 0 in the signal file (line ${signal.line}), so it always reads ${signal.offset}; correct the file or choose another signal`,
    );
  const wanted = isListRole(role) ? ["m/s", "rad/s"] : [SINGLE_ROLES[role]];
  const needsNone = wanted[0] === "";
  const conversion = needsNone ? { ...NO_CONVERSION, unit: signal.unit } : conversionOf(signal.unit);
  if (conversion === null || !(needsNone || wanted.includes(conversion.unit))) {
    const got = signal.unit.trim() === "" ? "no unit" : JSON.stringify(signal.unit);
    throw new RoleError(
      role,
      `signal ${decoder.name} needs a unit that converts to ${wanted.join(" or ")}, got ${got} in the signal file (line ${signal.line}); correct the file or choose another signal`,
    );
  }
  const noValue = new Set<number>();
  if (!needsNone) for (const [raw, text] of signal.labels) if (NO_VALUE.test(text.replace(/_/g, " "))) noValue.add(raw);
  return {
    role,
    decoder,
    conversion,
    invert: choice.invert,
    quantum: signal.kind === "float" ? 0 : Math.abs(signal.factor * conversion.scale),
    noValue,
  };
}

/** Converts a physical value from the file's unit to the role's. An inverted flag is negated, an inverted quantity changes sign. */
export function roleValue(binding: RoleBinding, physical: number): number {
  const value = physical * binding.conversion.scale + binding.conversion.offset;
  if (!binding.invert) return value;
  const isFlag = binding.decoder.signal.bitLength === 1 && !isListRole(binding.role) && SINGLE_ROLES[binding.role] === "";
  return isFlag ? 1 - value : 0 - value;
}

/** Whether several signals can play this role at once. */
export function isListRole(role: SingleRole | ListRole): role is ListRole {
  return (LIST_ROLES as readonly string[]).includes(role);
}

function findSignal(database: SignalDatabase, role: SingleRole | ListRole, name: string): SignalDecoder {
  const all = database.messages.flatMap((message) => message.signals);
  const found = all.filter((decoder) => decoder.name === name);
  if (found.length === 1) return found[0];
  if (found.length > 1) throw new RoleError(role, `the signal files have ${found.length} signals ${name}; rename one of the messages`);
  const near = nearNames(name, Array.from(new Set(all.map((decoder) => decoder.name))));
  const remedy =
    near.length === 0 ? `they hold ${all.length} signals; check the set-up's "database"` : `did you mean ${near.join(" or ")}?`;
  throw new RoleError(role, `no signal ${name} in the signal files; ${remedy}`);
}
