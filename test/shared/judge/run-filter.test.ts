/** Runs chosen by terms: plain definitions of the operators, and what is said of a term that cannot be read. */
import { describe, expect, test } from "vitest";
import { chooseRuns, readRunNumbers } from "../../../src/shared/judge/run-filter.ts";
import { judgedRun } from "./judged-run.fixture.ts";

const runs = [
  judgedRun(1, "off", 5, { day: "2031-05-04", car: "Odrel", courseDeg: 74, conditions: { surface: "Dry", "tyre pressure": "2.1 bar" } }),
  judgedRun(2, "on", 5, { day: "2031-05-04", car: "Odrel", courseDeg: 254, conditions: { surface: "wet", "tyre pressure": "1.9 bar" } }),
  judgedRun(3, "on", 5, { day: "2031-05-05", car: "Other", courseDeg: 74, measured: { stateOfCharge: 61 }, use: false, planned: 2 }),
];
const ids = (...where: string[]) => chooseRuns(runs, where).map((run) => run.id);

describe("chooseRuns()", () => {
  test.each([
    [["label=on"], [2, 3]],
    [["surface=wet"], [2]],
    [["surface=WET,dry"], [1, 2]],
    [["surface!=wet"], [1, 3]],
    [["surface="], [3]],
    [["day=2031-05-04"], [1, 2]],
    [["day>2031-05-04"], [3]],
    [["direction=east"], [1, 3]],
    [["direction=west", "day=2031-05-04"], [2]],
    [["car=odrel"], [1, 2]],
    [["plan=2"], [3]],
    [["use=no"], [3]],
    [["tyre pressure<2"], [2]],
    [["Tyre pressure>=2.1"], [1]],
    [["tyre pressure=2.1"], [1]],
    [["tyre pressure=2.10"], [1]],
    [["tyre pressure=2.1 bar"], [1]],
    [["tyre pressure=2.1 psi"], []],
    [["tyre pressure!=2.10"], [2, 3]],
    [["stateOfCharge>60"], [3]],
    [["run=2-3"], [2, 3]],
    [["run!=1,3"], [2]],
    [["run>1"], [2, 3]],
    [[], [1, 2, 3]],
  ])("%j gives runs %j", (where, expected) => {
    expect(ids(...where)).toEqual(expected);
  });

  test("a comma is another value, never another term, and a semicolon parts terms as on the screens", () => {
    expect(ids("label=on; surface=wet")).toEqual([2]);
    expect(ids(" label=on ;; day>2031-05-04;")).toEqual([3]);
    expect(() => ids("surface=dry,tyre pressure=2.1")).toThrow(/a comma means "or"; give "tyre pressure=2.1" as a term of its own/);
    expect(() => ids("surface=dry,day>=2031-05-04")).toThrow(/as a term of its own/);
  });

  test("says what there is where a term names nothing, and what a term looks like", () => {
    expect(() => ids("srface=wet")).toThrow(
      /No run has "srface": choose by run, label, use, day, surface, direction, car, plan, .*tyre pressure/,
    );
    expect(() => ids("wet")).toThrow(/Expected a term such as "surface=wet"/);
    expect(() => ids("day<a,b")).toThrow(/one value after </);
    expect(() => ids("run=x")).toThrow(RangeError);
  });
});

test("readRunNumbers() takes single numbers and ranges, each run once", () => {
  expect(readRunNumbers("1-3, 3,9")).toEqual([1, 2, 3, 9]);
  for (const bad of ["", "0", "3-1", "1-", "1.5", "all", "1-99999999"]) expect(() => readRunNumbers(bad), bad).toThrow(RangeError);
});
