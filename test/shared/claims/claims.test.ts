/**
 * The claims run with few cases: 32 random drives in each of three classes. Limits are what chance allows at n = 32, so a red test means a
 * broken promise, not bad luck. RMS by chi-square (three sigma above the promise). Coverage by the binomial (fewer intervals inside than 90
 * % true coverage gives in 999 of 1,000 runs). Width by the mean square of error over claimed sigma (below what 99 % coverage gives in 999
 * of 1,000).
 */
import { beforeAll, describe, expect, test } from "vitest";
import type { CaseResult } from "../../claims/judge-case.ts";
import { judgeCase } from "../../claims/judge-case.ts";
import { secondCarDrive } from "../../claims/known-drive.ts";
import { leastCovered, leastSpread, mostRms, type Outcome, spreadOf, summarise } from "../../claims/tally.ts";
import type { DriveClass } from "../../support/second-car/recipe.ts";

const CASES = 32;

/** `most`: the promised RMS. Every failure prints what was measured. */
function hold(outcomes: readonly Outcome[], most: number | null, what: string): void {
  const s = summarise(outcomes);
  const covered = outcomes.filter((o) => Math.abs(o.error) <= o.plusMinus95).length;
  const said = `${what}: RMS ${s.rms.toPrecision(3)}, ${covered} of ${s.n} inside, mean half width ${s.width.toPrecision(3)}, spread ${spreadOf(outcomes).toPrecision(3)}`;
  if (most !== null) expect(s.rms, said).toBeLessThan(mostRms(most, s.n));
  expect(covered, said).toBeGreaterThanOrEqual(leastCovered(s.n, 0.001));
  expect(spreadOf(outcomes), `${said} (intervals too wide)`).toBeGreaterThan(leastSpread(s.n));
}

const gate = (cases: readonly CaseResult[], name: string, start: string): Outcome[] =>
  cases.flatMap((c) => c.gates.filter((g) => g.gate === name && g.start === start));

function judged(kind: DriveClass, firstSeed: number): () => readonly CaseResult[] {
  let cases: readonly CaseResult[] = [];
  beforeAll(() => {
    cases = Array.from({ length: CASES }, (_, i) => judgeCase(secondCarDrive(firstSeed + i, kind, false)));
  });
  return () => cases;
}

function eachLaunchFound(cases: readonly CaseResult[]): void {
  expect(cases.map((c) => c.found)).toEqual(cases.map((c) => c.driven));
}

describe("every source, surface, control, ramp and noise at random", () => {
  const cases = judged({}, 700);
  test("each launch is found, once", () => eachLaunchFound(cases()));
  test("0-60 mph is good to 3 ms", () => hold(gate(cases(), "0-60 mph", "movement"), 0.003, "0-60 mph"));
  test("60 ft and 30-60 mph keep their intervals", () => {
    hold(gate(cases(), "60 ft", "movement"), null, "60 ft");
    hold(gate(cases(), "30-60 mph", "entry"), null, "30-60 mph");
  });
  test("rolling radius is good to 0.1 %", () => {
    const outcomes = cases().flatMap((c) => c.radius ?? []);
    expect(outcomes.length).toBe(CASES);
    hold(outcomes, 0.001, "radius");
  });
  test("receiver delay keeps its interval", () =>
    hold(
      cases().flatMap((c) => c.delay ?? []),
      null,
      "delay",
    ));
  test("slip is good to 0.001", () => {
    const rms = Math.sqrt(cases().reduce((s, c) => s + (c.slip?.rms ?? Number.NaN) ** 2, 0) / CASES);
    expect(rms).toBeLessThan(mostRms(0.001, CASES));
  });
});

describe("no undriven wheels, white noise", () => {
  const cases = judged({ undriven: false, correlated: false }, 800);
  test("each launch is found, once", () => eachLaunchFound(cases()));
  test("0-60 mph keeps its interval", () => hold(gate(cases(), "0-60 mph", "movement"), null, "0-60 mph"));
  test("receiver delay is good to 5 ms", () =>
    hold(
      cases().flatMap((c) => c.delay ?? []),
      0.005,
      "delay",
    ));
  test("slip is good to 0.004", () => {
    const rms = Math.sqrt(cases().reduce((s, c) => s + (c.slip?.rms ?? Number.NaN) ** 2, 0) / CASES);
    expect(rms).toBeLessThan(mostRms(0.004, CASES));
  });
});

describe("receiver alone", () => {
  const cases = judged({ undriven: false, torque: false, motorSpeed: false, correlated: false, calibrationS: 0 }, 900);
  test("each launch is found, once", () => eachLaunchFound(cases()));
  test("0-60 mph keeps its interval and beats straight lines", () => {
    const outcomes = gate(cases(), "0-60 mph", "movement");
    hold(outcomes, null, "0-60 mph");
    const lines = cases().flatMap((c) => c.linesS);
    expect(summarise(outcomes).rms).toBeLessThan(Math.sqrt(lines.reduce((s, e) => s + e * e, 0) / lines.length));
  });
});

test("six decoys and a slow drive-off beside one launch: only the launch is timed", () => {
  const decoys = ["falseStart", "creep", "push", "reverse", "spin", "slowAway"] as const;
  const phases = decoys.flatMap((kind) => [
    { kind } as const,
    { kind: "stop", decelMps2: 2 } as const,
    { kind: "rest", seconds: 4 } as const,
  ]);
  for (const seed of [1, 2, 3]) {
    for (const kind of [{}, { undriven: false }, { undriven: false, torque: false, motorSpeed: false }]) {
      const result = judgeCase(secondCarDrive(seed, { ...kind, calibrationS: 40, phases }, false));
      expect(result.found, `seed ${seed}, ${JSON.stringify(kind)}`).toBe(1);
      expect(result.gates.length).toBeGreaterThan(5);
    }
  }
});
