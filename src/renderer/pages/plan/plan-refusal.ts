/** Why a plan is refused, in the words of the form: the core names the keys of a plan file, people see fields. What it does not know stays as it came. */
import { ofWord } from "../../../shared/kernel/by-word.ts";

export interface PlanRefusal {
  readonly words: string;
  /** Key of the field at fault; null where no single one is. */
  readonly field: string | null;
}

/** Key of the plan file, and the field that fills it. */
const FIELDS: Readonly<Record<string, string>> = {
  groups: "Groups",
  runsPerGroup: "Runs a group",
  usableLengthM: "Usable length",
  runOffNote: "Run-off",
  directionNames: "Driven out as, and back as",
  hoped: "Hoped for",
  leastWaitS: "Wait",
  "hold.stateOfCharge": "Charge",
  "hold.motorTemperature": "Motor below",
};

/** `message`: as `plan.draw` rejects. */
export function planRefusal(message: string): PlanRefusal {
  const length = /^The usable length is too short/.test(message);
  if (length) return { words: message, field: "usableLengthM" };
  const runOff = /^(.*) need a note of the run-off: say in "runOffNote" (.*)$/s.exec(message);
  if (runOff !== null) return { words: `${runOff[1]} need a note of the run-off: say under Run-off ${runOff[2]}.`, field: "runOffNote" };
  if (/^A plan compares at least two groups/.test(message))
    return { words: "Groups: a first and a second are needed; one is empty.", field: "groups" };
  if (/^Groups of a plan need different names/.test(message))
    return { words: "Groups: each needs a name of its own; two are the same.", field: "groups" };
  const [, key = "", expected = "", got = ""] = /^Plan, "([^"]+)": expected (.*), got (.*)$/s.exec(message) ?? [];
  const name = ofWord(FIELDS, key);
  if (name === undefined) return { words: message, field: null };
  if (expected === "low below high") return { words: `${name}: the least must be lower than the most.`, field: key };
  if (expected === "a list of texts") return { words: `${name}: both need a name; one is empty.`, field: key };
  if (expected.startsWith("two different names")) return { words: `${name}: two different names are needed.`, field: key };
  const came = got === "nothing" || got === '""' ? "it is empty" : `${got} stands there`;
  return { words: `${name}: expected ${expected}; ${came}.`, field: key };
}

/** No setting gains more than this over a gate. */
const MOST_HOPED_S = 60;

/** What is hoped for is in no plan, so the core never hears of it: null where it reads as seconds, or is empty. */
export function hopedRefusal(value: unknown): PlanRefusal | null {
  if (value === undefined || (typeof value === "number" && value !== 0 && Math.abs(value) <= MOST_HOPED_S)) return null;
  const came = String(value).slice(0, 60);
  return planRefusal(`Plan, "hoped": expected seconds such as 0.1, at most ${MOST_HOPED_S}, got ${JSON.stringify(came)}`);
}
