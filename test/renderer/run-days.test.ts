/** Runs by day: the day that the core gives each (test/shared/run/driving-days.test.ts), with its year, in the order of the book. */
import { expect, test } from "vitest";
import { runDays } from "../../src/renderer/pages/runs/run-days.ts";
import type { RunRow } from "../../src/shared/contract/contract.ts";

const at = (id: number, day: string | null) => ({ id, ...(day === null ? {} : { day }) }) as RunRow;
const told = (runs: readonly RunRow[]) => runDays(runs).map(({ word, runs: those }) => [word, those.map(({ id }) => id)]);

test("the same date of two years is two days, each with its year; one year needs none", () => {
  const first = [at(1, "2030-05-04"), at(2, "2030-05-04")];
  expect(told([...first, at(3, "2031-05-04"), at(4, "2031-05-05")])).toEqual([
    ["4 May 2030", [1, 2]],
    ["4 May 2031", [3]],
    ["5 May 2031", [4]],
  ]);
  expect(told(first)).toEqual([["4 May", [1, 2]]]);
});

test("runs of no known day make a day that says so", () => {
  expect(told([at(1, null), at(2, "2030-05-04"), at(3, null)])).toEqual([
    ["Day unknown", [1, 3]],
    ["4 May", [2]],
  ]);
  expect(told([])).toEqual([]);
});
