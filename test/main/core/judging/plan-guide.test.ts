/**
 * The plan guides the passenger: what is next, what is waited for, a slot driven again, and no run from before the plan. Rules:
 * docs/judging-plan.md and docs/design.md, safety.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { openSqliteBook } from "../../../../src/main/adapters/sqlite/sqlite-book.ts";
import { merge } from "../../../../src/main/core/deriving/merge.ts";
import { createPlanGuide } from "../../../../src/main/core/judging/plan-guide.ts";
import { currentPlan, fillPlan, setCurrentPlan, usePlan } from "../../../../src/main/core/judging/test-plan.ts";
import type { Book } from "../../../../src/main/ports/book.ts";
import { addTimedRuns } from "../../../support/timed-book.ts";

let folder = "";
let book: Book;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "gripbook-"));
  book = openSqliteBook({ file: join(folder, "day.gripbook"), create: true });
});
afterEach(() => {
  book.close();
  rmSync(folder, { recursive: true, force: true });
});

const REQUEST = {
  groups: ["off", "on"],
  runsPerGroup: 4,
  directionNames: ["eastbound", "westbound"],
  usableLengthM: 900,
  runOffNote: "grass",
  hold: { stateOfCharge: { low: 60, high: 90 } },
  leastWaitS: 180,
  seed: 3,
};
/** timed-book drives from 10:00 UTC, a run every four minutes, each window ending a second after its gate. */
const TEN_US = Date.UTC(2031, 4, 4, 10) * 1000;
const slotsOf = () => currentPlan(book)?.plan.slots ?? [];
const timed = (from: number, to: number) =>
  slotsOf()
    .slice(from, to)
    .map(({ group, slot }) => ({ label: group, seconds: 5, courseDeg: slot % 2 === 0 ? 74 : 254 }));

test("createPlanGuide() names the next slot, and waits for time and charge; what is unknown holds nobody up", () => {
  const guide = createPlanGuide(book);
  expect(guide.refresh()).toBeNull();
  expect(guide.say({}, TEN_US)).toBeNull();
  usePlan(book, REQUEST, TEN_US);
  const [first, second] = slotsOf();
  expect(guide.refresh()).toBe(first?.group);
  expect(guide.say({}, TEN_US)).toMatchObject({ words: `next: ${first?.group}, eastbound`, ready: true, done: 0, total: 8 });
  // So that the passenger can give the next run any of them, driven or not.
  expect(guide.say({}, TEN_US)?.groups).toEqual(REQUEST.groups);
  addTimedRuns(book.file, timed(0, 1));
  expect(guide.refresh()).toBe(second?.group);
  // The first window ends at 60 + 5 + 1 = 66 s; 96 s later 84 s of 180 s are left.
  expect(guide.say({ stateOfCharge: 75 }, TEN_US + 162e6)).toMatchObject({
    words: `next: ${second?.group}, westbound; wait 1:24`,
    ready: false,
    done: 1,
  });
  expect(guide.say({ stateOfCharge: 55 }, TEN_US + 300e6)?.words).toBe(`next: ${second?.group}, westbound; wait: charge is 55 %, under 60`);
  expect(guide.say({ stateOfCharge: null }, TEN_US + 300e6)?.ready).toBe(true);
});

test("a slot is driven again on a person's word, the run kept; a later label does not move what was bound", () => {
  const { stored } = usePlan(book, REQUEST, TEN_US);
  const [run, next] = addTimedRuns(book.file, timed(0, 2)) as [number, number];
  expect(fillPlan(book, stored).driven).toEqual([
    { slot: 0, run, spoiled: false },
    { slot: 1, run: next, spoiled: false },
  ]);
  book.setLabel(run, "something else", TEN_US);
  expect(fillPlan(book, stored).driven.map((slot) => slot.run)).toEqual([run, next]);
  book.setAgain(stored.id, next, true, TEN_US);
  const guide = createPlanGuide(book);
  guide.refresh();
  expect(guide.say({}, TEN_US + 3600e6)?.words).toContain("westbound");
  expect(book.edits(next).map(({ what, before, after }) => [what, before, after])).toEqual([["drive again", false, true]]);
  const [third] = addTimedRuns(book.file, timed(1, 2), "again");
  expect(fillPlan(book, stored).driven.at(-1)).toEqual({ slot: 1, run: third, spoiled: false });
});

test("merge() takes the other book's plan over with its runs, and never lets strangers fill a plan of one's own", () => {
  usePlan(book, REQUEST, TEN_US);
  addTimedRuns(book.file, timed(0, 2), "theirs");
  const other = openSqliteBook({ file: join(folder, "other.gripbook"), create: true });
  addTimedRuns(other.file, [{ label: "dry", seconds: 4.9 }], "own");
  merge(book, other, TEN_US);
  const taken = currentPlan(other);
  expect(taken?.plan).toEqual(currentPlan(book)?.plan);
  expect(taken === null ? [] : fillPlan(other, taken).driven.map(({ slot, run }) => [slot, other.run(run).uid])).toEqual([
    [0, "theirs-1"],
    [1, "theirs-2"],
  ]);
  const third = openSqliteBook({ file: join(folder, "third.gripbook"), create: true });
  const { stored } = usePlan(third, REQUEST, TEN_US);
  merge(book, third, TEN_US);
  expect(third.runs()).toHaveLength(2);
  expect(fillPlan(third, third.plan(stored.id)).driven).toEqual([]);
  other.close();
  third.close();
});

test("setCurrentPlan() gives the plan before, so that using one can be taken back; kept plans stay", () => {
  const { stored, before } = usePlan(book, REQUEST, TEN_US);
  expect(before).toBeNull();
  const second = usePlan(book, { ...REQUEST, seed: 4 }, TEN_US);
  expect(second.before).toBe(stored.id);
  expect(setCurrentPlan(book, second.before, TEN_US)).toBe(second.stored.id);
  expect(currentPlan(book)?.plan).toEqual(stored.plan);
  setCurrentPlan(book, null, TEN_US);
  expect(currentPlan(book)).toBeNull();
  expect(() => setCurrentPlan(book, 99, TEN_US)).toThrow(/Plan 99 is not in this book/);
});
