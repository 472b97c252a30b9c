/**
 * Why a plan is refused, in the words of the form: the core names keys of a plan file, people see fields. Unknown messages stay unchanged.
 */
import { toTypeIn } from "../../../shared/kernel/shown-units.ts";
import { ofWord } from "../../../shared/kernel/by-word.ts";
import { units } from "../../screen/units.ts";

export interface PlanRefusal {
  readonly words: string;
  /** Key of the wrong field; null where it is not a single one. */
  readonly field: string | null;
  /** Nobody did anything wrong: something needed is not filled in yet. */
  readonly missing?: boolean;
}

/** Key in the plan file, and the field for it. */
const FIELDS: Readonly<Record<string, string>> = {
  groups: "Groups",
  runsPerGroup: "Runs a group",
  usableLengthM: "Usable length",
  runOffNote: "Run-off",
  directionNames: "First direction, and back",
  hoped: "Expected difference",
  leastWaitS: "Wait",
  "hold.stateOfCharge": "Charge",
  "hold.motorTemperature": "Motor max",
};

/** `message`: the rejection of `plan.draw`. */
export function planRefusal(message: string): PlanRefusal {
  const length = /^The usable length is too short/.test(message);
  if (length) return { words: message, field: "usableLengthM" };
  const runOff = /^(.*) need a note of the run-off: say in "runOffNote" (.*)$/s.exec(message);
  if (runOff !== null)
    return { words: `${runOff[1]} need a note of the run-off: say under Run-off ${runOff[2]}.`, field: "runOffNote", missing: true };
  if (/^A plan compares at least two groups/.test(message))
    return { words: "Groups: a first and a second are needed; one is empty.", field: "groups", missing: true };
  if (/^Groups of a plan need different names/.test(message))
    return { words: "Groups: each needs a name of its own; two are the same.", field: "groups" };
  const [, key = "", expected = "", got = ""] = /^Plan, "([^"]+)": expected (.*), got (.*)$/s.exec(message) ?? [];
  const name = ofWord(FIELDS, key);
  if (name === undefined) return { words: message, field: null };
  if (expected === "low below high") return { words: `${name}: the least must be lower than the most.`, field: key };
  if (expected === "a list of texts") return { words: `${name}: both need a name; one is empty.`, field: key };
  if (expected.startsWith("two different names")) return { words: `${name}: two different names are needed.`, field: key };
  if (key === "usableLengthM") return refusedLength(key, expected, got);
  return refusedField(key, expected, got);
}

/** The file's length is in metres, and the field's as this screen shows it. */
function refusedLength(key: string, expected: string, got: string): PlanRefusal {
  const shown = units();
  const [, most = ""] = /at most (\d+)$/.exec(expected) ?? [];
  if (shown.length === "m" || most === "") return refusedField(key, expected, got);
  const typed = Number(got);
  const length = `the usable length in ${shown.length}, at most ${Math.floor(Number(most) * shown.perM)}`;
  return refusedField(key, length, Number.isFinite(typed) ? String(toTypeIn(shown, typed)) : got);
}

function refusedField(key: string, expected: string, got: string): PlanRefusal {
  const name = ofWord(FIELDS, key) ?? key;
  if (got !== "nothing" && got !== '""') return { words: `${name}: expected ${expected}; ${got} stands there.`, field: key };
  const named = expected.toLowerCase().includes(name.toLowerCase()) ? "" : `${name}: `;
  return { words: `Fill in ${named}${expected}.`, field: key, missing: true };
}

/** No setting gains more than this over a gate. */
const MOST_HOPED_S = 60;

/** The expected difference is not part of a plan, so the core does not check it. Null where it is a number of seconds, or empty. */
export function hopedRefusal(value: unknown): PlanRefusal | null {
  if (value === undefined || (typeof value === "number" && value !== 0 && Math.abs(value) <= MOST_HOPED_S)) return null;
  const came = String(value).slice(0, 60);
  return refusedField("hoped", `seconds such as 0.1, at most ${MOST_HOPED_S}`, JSON.stringify(came));
}
