/** the look's invented day in a real book: six and six there and back, driven in the order that the plan's lot drew. */
import { openSqliteBook } from "../../src/main/adapters/sqlite/sqlite-book.ts";
import { usePlan } from "../../src/main/core/judging/test-plan.ts";
import { addTimedRuns } from "./timed-book.ts";

const SECONDS: Readonly<Record<string, readonly number[]>> = {
  "traction control off": [5.0, 5.05, 5.08, 5.02, 5.11, 5.4],
  "traction control on": [4.35, 4.4, 4.46, 4.42, 4.48, 4.51],
};
const GROUPS = Object.keys(SECONDS);

const PLAN_REQUEST = {
  groups: GROUPS,
  runsPerGroup: 6,
  directionNames: ["eastbound", "westbound"],
  usableLengthM: 900,
  withoutControl: [GROUPS[0]],
  runOffNote: "grass, 200 m at both ends",
  seed: 5,
};

/** `runs`: how many of the twelve are in already. */
export function addPlannedDay(file: string, runs = 12): void {
  const book = openSqliteBook({ file, create: true });
  const { stored } = usePlan(book, PLAN_REQUEST, Date.UTC(2031, 4, 4, 9) * 1000);
  book.close();
  const next = new Map(GROUPS.map((group) => [group, 0]));
  const driven = stored.plan.slots.slice(0, runs).map(({ group, slot }) => {
    const at = next.get(group) ?? 0;
    next.set(group, at + 1);
    return { label: group, seconds: SECONDS[group]?.[at] ?? null, courseDeg: slot % 2 === 0 ? 74 : 254 };
  });
  addTimedRuns(file, driven);
}
