/**
 * What is noted about a run: only changes are sent, what is removed can be restored, and changes in the controller survive both ways. Keys
 * as in the command line's `conditions` (docs/design.md).
 */
import { expect, test } from "vitest";
import { changesOf, conditionLines, conditionsSet, prefilled } from "../../src/renderer/edits/conditions.ts";

test("conditionsSet() sends what differs, takes away what was emptied, and leaves keys that it does not show alone", () => {
  const own = { surface: "dry", wind: "none", "barometer kPa": "101", "changed slip target": "8 -> 6 %" };
  expect(conditionsSet(own, { surface: "dry", wind: " ", tyre: "265/35R19 " }, changesOf(own))).toEqual({ wind: null, tyre: "265/35R19" });
  expect(conditionsSet(own, { surface: "dry", wind: "none" }, [])).toEqual({ "changed slip target": null });
});

test("changesOf() reads back what conditionsSet() wrote, with words in a value and without a unit", () => {
  const changes = [
    { parameter: "slip target", before: "8", after: "6", unit: "%" },
    { parameter: "torque filter", before: "first order", after: "none at all", unit: "" },
  ];
  const set = conditionsSet({}, {}, changes) as Record<string, string>;
  expect(set["changed slip target"]).toBe("8 -> 6 %");
  expect(
    changesOf(set).map((change) => ({
      ...change,
      before: change.before.replaceAll("\u00a0", " "),
      after: change.after.replaceAll("\u00a0", " "),
    })),
  ).toEqual(changes);
  expect(conditionsSet(set, {}, changesOf(set))).toEqual({});
});

test("prefilled() takes the run before where this one has nothing, but never its driver's note", () => {
  const before = { surface: "wet", "driver's note": "felt loose" };
  expect(prefilled("surface", {}, before)).toEqual({ value: "wet", fromBefore: true });
  expect(prefilled("surface", { surface: "dry" }, before)).toEqual({ value: "dry", fromBefore: false });
  expect(prefilled("driver's note", {}, before).value).toBe("");
});

test("conditionLines() names everything noted", () => {
  expect(conditionLines({ "changed slip target": "8 -> 6 %", surface: "dry" })).toEqual([
    "Surface: dry",
    "Changed slip target: 8 \u2192 6 %",
  ]);
});

test("conditionLines() gives a bare figure the unit that its field asks for, and words nothing", () => {
  expect(conditionLines({ "air temperature": "12,5", "road temperature": "31 \u00b0C", "tyre pressures": "230, 240", wind: "3" })).toEqual([
    "Air: 12,5\u00a0\u00b0C",
    "Road: 31 \u00b0C",
    "Wind: 3",
    "Pressures: 230, 240\u00a0kPa",
  ]);
});
