/**
 * The faults of the claims with few cases, on both generators: streams lost at any place of a launch, repeated and doubled. Of the times
 * still claimed, at least as many intervals hold as 90 % true coverage gives in 999 of 1,000 runs, and no time is off by more than three
 * half widths.
 */
import { describe, expect, test } from "vitest";
import { FAULT_CLASSES, faultCases, lostAdapterCase } from "../../claims/fault-sweep.ts";
import { leastCovered } from "../../claims/tally.ts";

const DRIVES = 5;
const GATES = ["0-60 mph movement", "60 ft movement", "30-60 mph entry", "60-0 mph entry"];

describe.each(["first", "second"] as const)("a stream lost, repeated or doubled in a launch of the %s car", (car) => {
  test("leaves true intervals, or no time, and a flag that says so", { timeout: 300_000 }, () => {
    const cases = Array.from({ length: DRIVES }, (_, i) => faultCases(car, 101 + i)).flat();
    const claimed = cases.flatMap((one, i) =>
      one.gates
        .filter(({ gate, start }) => GATES.includes(`${gate} ${start}`))
        .map((gate) => ({ ...gate, what: `${FAULT_CLASSES[i % FAULT_CLASSES.length]?.name}: ${JSON.stringify(one.fault)}` })),
    );
    const covered = claimed.filter(({ error, plusMinus95 }) => Math.abs(error) <= plusMinus95).length;
    expect(covered, `${covered} of ${claimed.length} inside`).toBeGreaterThanOrEqual(leastCovered(claimed.length, 0.001));
    expect(claimed.filter(({ error, plusMinus95 }) => Math.abs(error) > 3 * plusMinus95)).toEqual([]);
    expect(claimed.length).toBeGreaterThan(2 * cases.length);
    expect(cases.every(({ found }) => found <= 1)).toBe(true);
    expect(cases.filter(({ struck, flagged }) => struck && !flagged).map(({ fault }) => fault)).toEqual([]);
  });
});

test.each(["first", "second"] as const)("the adapter lost in a launch of the %s car and back after 12 s leaves true intervals", (car) => {
  const claimed = Array.from({ length: 8 }, (_, i) => lostAdapterCase(car, 201 + i, 1.2 + 0.2 * i, 12)).flatMap(({ gates }) =>
    gates.filter(({ gate, start }) => GATES.includes(`${gate} ${start}`)),
  );
  const covered = claimed.filter(({ error, plusMinus95 }) => Math.abs(error) <= plusMinus95).length;
  expect(covered, `${covered} of ${claimed.length} inside`).toBeGreaterThanOrEqual(leastCovered(claimed.length, 0.001));
  expect(claimed.length).toBeGreaterThan(15);
});
