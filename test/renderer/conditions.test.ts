/**
 * What is noted about a run: only changes are sent, what is removed can be restored, and changes in the controller survive both ways. Keys
 * as in the command line's `conditions` (docs/design.md).
 */
import { expect, test } from "vitest";
import {
  changedFor,
  changesOf,
  conditionLines,
  conditionsSet,
  ownKeys,
  prefilled,
  valueFault,
} from "../../src/renderer/edits/conditions.ts";

const said = (fields: Record<string, string>, changes = changesOf([]), own: { key: string; value: string }[] = []) => ({
  fields,
  changes,
  own,
});

test("conditionsSet() sends what differs, takes away what was emptied, and leaves alone what is the core's own", () => {
  const own = { surface: "dry", wind: "none", "changed slip target": "8 -> 6 %", "controller file": "a sha256:0", "before driving": "x" };
  expect(conditionsSet([own], said({ surface: "dry", wind: " ", tyre: "265/35R19 " }, changesOf([own])))).toEqual({
    wind: null,
    tyre: "265/35R19",
  });
  expect(conditionsSet([own], said({ surface: "dry", wind: "none" }))).toEqual({ "changed slip target": null });
});

test("a condition under a name of one's own is kept, changed, renamed and removed", () => {
  const own = { "slip target": "8 %" };
  expect(ownKeys([own], {})).toEqual(["slip target"]);
  expect(conditionsSet([own], said({}, [], [{ key: "slip target", value: "8 %" }]))).toEqual({});
  expect(conditionsSet([own], said({}, [], [{ key: "slip target", value: " 6 % " }]))).toEqual({ "slip target": "6 %" });
  expect(conditionsSet([own], said({}, [], [{ key: "slip aim", value: "8 %" }]))).toEqual({ "slip aim": "8 %", "slip target": null });
  expect(conditionsSet([own], said({}, [], [{ key: "slip target", value: "" }]))).toEqual({ "slip target": null });
});

test("of several runs, what they share is changed or removed for all, and what differs stays unless something is typed", () => {
  const runs = [
    { surface: "dry", tyre: "a", "slip target": "6 %" },
    { surface: "dry", tyre: "b" },
  ];
  expect(prefilled("surface", runs, {})).toEqual({ value: "dry", fromBefore: false, differ: [] });
  expect(prefilled("tyre", runs, {})).toEqual({ value: "", fromBefore: false, differ: ["a", "b"] });
  expect(prefilled("slip target", runs, {}).differ).toEqual(["6 %", ""]);
  const fields = { surface: "dry", tyre: "" };
  const own = [{ key: "slip target", value: "" }];
  expect(conditionsSet(runs, said(fields, [], own))).toEqual({});
  expect(conditionsSet(runs, said({ surface: "", tyre: "" }, [], own))).toEqual({ surface: null });
  const set = conditionsSet(runs, said({ surface: "wet", tyre: "a" }, [], [{ key: "slip target", value: "-" }]));
  expect(set).toEqual({ surface: "wet", tyre: "a", "slip target": null });
  // Each run is sent what it has differently, and no more.
  expect(runs.map((run) => changedFor(run, set))).toEqual([
    { surface: "wet", "slip target": null },
    { surface: "wet", tyre: "a" },
  ]);
  expect(changedFor({ surface: "wet", tyre: "a" }, set)).toBeNull();
});

test("changesOf() reads back what conditionsSet() wrote, with words in a value and without a unit", () => {
  const changes = [
    { parameter: "slip target", before: "8", after: "6", unit: "%" },
    { parameter: "torque filter", before: "first order", after: "none at all", unit: "" },
  ];
  const set = conditionsSet([{}], said({}, changes)) as Record<string, string>;
  expect(set["changed slip target"]).toBe("8 -> 6 %");
  expect(
    changesOf([set]).map((change) => ({
      ...change,
      before: change.before.replaceAll("\u00a0", " "),
      after: change.after.replaceAll("\u00a0", " "),
    })),
  ).toEqual(changes);
  expect(conditionsSet([set], said({}, changesOf([set])))).toEqual({});
  // Only one of two runs has it: it is no change of both, and stays.
  expect(changesOf([set, {}])).toEqual([]);
  expect(conditionsSet([set, {}], said({}))).toEqual({});
});

test("prefilled() takes the run before where this one has nothing, but never its driver's note nor a change", () => {
  const before = { surface: "wet", "driver's note": "felt loose", "slip target": "8 -> 6 %", gain: "2" };
  expect(prefilled("surface", [{}], before)).toEqual({ value: "wet", fromBefore: true, differ: [] });
  expect(prefilled("surface", [{ surface: "dry" }], before)).toEqual({ value: "dry", fromBefore: false, differ: [] });
  expect(prefilled("driver's note", [{}], before).value).toBe("");
  expect(ownKeys([{}], before)).toEqual(["gain"]);
});

test("conditionLines() names everything noted", () => {
  expect(conditionLines({ "changed slip target": "8 -> 6 %", surface: "dry" })).toEqual([
    "Surface: dry",
    "Changed slip target: 8 \u2192 6 %",
  ]);
});

test("conditionLines() gives a bare figure the unit that its field asks for, and words nothing", () => {
  expect(conditionLines({ "air temperature": "12,5", "road temperature": "31 \u00b0C", "rear tyre pressure": "240", wind: "3" })).toEqual([
    "Air: 12,5\u00a0\u00b0C",
    "Road: 31 \u00b0C",
    "Wind: 3",
    "Rear tyre pressure: 240\u00a0kPa",
  ]);
});

test("a tyre pressure in bar or psi is told in the field's own unit (NIST SP 811: 1 bar is 100 kPa, 1 psi 6.894757 kPa)", () => {
  expect(valueFault("2.1 bar", "kPa")).toBe("In kPa: 2.1 bar are 210");
  expect(valueFault("2,1bar", "kPa")).toBe("In kPa: 2,1bar are 210");
  expect(valueFault("30 PSI", "kPa")).toBe("In kPa: 30 PSI are 207");
  for (const value of ["210", "210 kPa", "210-215", "as the day before", ""]) expect(valueFault(value, "kPa"), value).toBeNull();
  expect(valueFault("2.1 bar", "\u00b0C")).toBeNull();
});
