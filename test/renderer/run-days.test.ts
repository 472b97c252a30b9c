/** Runs by day: the reader's own calendar day with its year, in the order of the book. */
import { expect, test } from "vitest";
import { runDays } from "../../src/renderer/pages/runs/run-days.ts";
import type { RunRow } from "../../src/shared/contract/contract.ts";

const at = (id: number, startedAt: Date | null) => ({ id, startedAt: startedAt?.toISOString() ?? null }) as RunRow;
const told = (runs: readonly RunRow[]) => runDays(runs).map(({ word, runs: those }) => [word, those.map(({ id }) => id)]);

test("the same date of two years is two days, each with its year; one year needs none", () => {
  const first = at(1, new Date(2030, 4, 4, 10));
  const late = at(2, new Date(2030, 4, 4, 23, 59, 59));
  expect(told([first, late, at(3, new Date(2031, 4, 4, 10)), at(4, new Date(2031, 4, 5, 9))])).toEqual([
    ["4 May 2030", [1, 2]],
    ["4 May 2031", [3]],
    ["5 May 2031", [4]],
  ]);
  expect(told([first, late])).toEqual([["4 May", [1, 2]]]);
});

test("runs of no known time make a day that says so", () => {
  expect(told([at(1, null), at(2, new Date(2030, 4, 4, 10)), at(3, null)])).toEqual([
    ["Day unknown", [1, 3]],
    ["4 May", [2]],
  ]);
  expect(told([])).toEqual([]);
});

test("a test that goes on past midnight is one day, named by its first run; a night's pause begins another", () => {
  const runs = [
    at(1, new Date(2030, 4, 4, 23, 40)),
    at(2, new Date(2030, 4, 5, 0, 20)),
    at(3, new Date(2030, 4, 5, 1, 5)),
    at(4, new Date(2030, 4, 6, 9)),
  ];
  expect(told(runs)).toEqual([
    ["4 May", [1, 2, 3]],
    ["6 May", [4]],
  ]);
});
