/** Why a plan is refused, in the words of the form: the core names the keys of a plan file, people see fields. What it does not know stays as it came. */

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
  const [, key = "", expected = "", got = ""] = /^Plan, "([^"]+)": expected (.*), got (.*)$/s.exec(message) ?? [];
  const name = FIELDS[key];
  if (name === undefined) return { words: message, field: null };
  if (expected === "low below high") return { words: `${name}: the least must be lower than the most.`, field: key };
  const came = got === "nothing" ? "it is empty" : `${got} stands there`;
  return { words: `${name}: expected ${expected}; ${came}.`, field: key };
}
