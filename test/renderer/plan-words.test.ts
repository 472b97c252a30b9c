/** Sentences of Plan: a range that is one number is not said as a range. */
import { expect, test } from "vitest";
import { neededWords } from "../../src/renderer/pages/plan/plan-words.ts";

test("neededWords() gives the range of runs a group only where it is one", () => {
  const scatter = { seconds: 0.061, low: 0.043, high: 0.107, degrees: 10 };
  const of = (from: number, to: number | null) =>
    neededWords({ choices: [], scatter, findableS: null, needed: { runsPerGroup: 5, from, to } }, 6);
  expect(of(5, 5)).toMatch(/needs 5 runs a group\.$/);
  expect(of(4, null)).toMatch(/needs 5 runs a group \(4 to more than 40\)\.$/);
});
