/** What was marked and noted while driving goes to exactly one run, the nearest in time, with its words and its time. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { Mark } from "../../../src/shared/launch/mark.ts";
import { momentsOfRuns } from "../../../src/shared/run/moments.ts";

const runs = [
  { uid: "first", movementS: 65, windowFromS: 60, windowToS: 72 },
  { uid: "second", movementS: 125, windowFromS: 120, windowToS: 133 },
];
const note = (tS: number, text = ""): Mark => ({ tS, kind: "note", text });

test("inside a run's seconds it is that run's; between two it is the nearer's; before the first it is the first's", () => {
  const found = momentsOfRuns(runs, [note(3, "dry, no wind"), note(66.5, "hop"), note(95), note(97, "again"), note(140)]);
  expect(found.get("first")).toEqual([
    { atS: 3 - 65, text: "dry, no wind" },
    { atS: 1.5, text: "hop" },
    { atS: 30, text: "" },
  ]);
  expect(found.get("second")).toEqual([
    { atS: 97 - 125, text: "again" },
    { atS: 15, text: "" },
  ]);
});

test("arming, labels and aborts are no notes; without a run nothing can be told of one", () => {
  const others = (["arm", "disarm", "abort", "label"] as const).map((kind): Mark => ({ tS: 66, kind, text: "x" }));
  expect([...momentsOfRuns(runs, others).values()].flat()).toEqual([]);
  expect(momentsOfRuns([], [note(1)]).size).toBe(0);
});

test("however many, none is lost, none is told twice, and each run's stand in order", () => {
  fc.assert(
    fc.property(fc.array(fc.double({ min: 0, max: 200, noNaN: true }), { maxLength: 20 }), (times) => {
      const found = momentsOfRuns(
        runs,
        times.map((tS, i) => note(tS, String(i))),
      );
      const told = [...found.values()].flat().map(({ text }) => Number(text));
      expect(told.toSorted((a, b) => a - b)).toEqual(times.map((_, i) => i));
      for (const moments of found.values()) {
        const at = moments.map(({ atS }) => atS);
        expect(at).toEqual(at.toSorted((a, b) => a - b));
      }
    }),
  );
});
