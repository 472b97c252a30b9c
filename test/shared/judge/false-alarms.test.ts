/**
 * Promised: false alarms at most 5.5 % with drift of up to 2 standard deviations of a run, and 75 to 85 % power at the planned effect.
 * 10,000 and 2,000 days run in test/bench; fewer here.
 */
import { describe, expect, test } from "vitest";
import { findableDifference, powerOf } from "../../../src/shared/judge/power.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import { claims, covers, simulateSeason } from "./simulated-seasons.ts";
import { fourThenFourClaims, judgeAsPlanned } from "./simulated-days.ts";

const saysSo = (comparison: ReturnType<typeof judgeAsPlanned>) => / is .* (quicker|slower) than /.test(comparison.headline);

describe("the suggested plan on simulated days", () => {
  test("raises no more false alarms than it says, whatever the drift, where off then on raises many", () => {
    const random = createSeededRandom(2031);
    const days = 2000;
    let alarms = 0;
    let naive = 0;
    for (let i = 0; i < days; i += 1) {
      const day = { effect: 0, drift: 4 * random.next() - 2, directionEffect: 2 * random.normal() };
      if ((judgeAsPlanned(day, random).asPlanned?.pTwoSided as number) <= 0.05) alarms += 1;
      if (fourThenFourClaims({ effect: 0, drift: 2, directionEffect: 0 }, random)) naive += 1;
    }
    expect(alarms / days).toBeLessThanOrEqual(0.055);
    expect(naive / days).toBeGreaterThan(0.15);
  });

  test("finds the planned effect about four times in five, as its power says", () => {
    const random = createSeededRandom(4);
    const effect = -(findableDifference(6, 2) as number);
    const days = 600;
    let found = 0;
    for (let i = 0; i < days; i += 1) if (saysSo(judgeAsPlanned({ effect, drift: 0, directionEffect: 1 }, random))) found += 1;
    expect(found / days).toBeGreaterThan(0.75);
    expect(found / days).toBeLessThan(0.85);
  });

  test("the planned interval covers the true effect at least as often as it says, drift and directions included", () => {
    const random = createSeededRandom(95);
    const days = 1000;
    let inside = 0;
    for (let i = 0; i < days; i += 1) {
      // The standard deviation of a run is 0.1 s.
      const interval = judgeAsPlanned({ effect: -1, drift: 4 * random.next() - 2, directionEffect: 1 }, random).asPlanned?.interval;
      if (interval && interval.low <= -0.1 && interval.high >= -0.1) inside += 1;
    }
    expect(inside / days).toBeGreaterThan(0.95 - 3 * Math.sqrt((0.95 * 0.05) / days));
  });

  test.each([4, 6, 8])("powerOf() agrees with simulated days in two directions, %i a group", (runsPerGroup) => {
    const random = createSeededRandom(runsPerGroup);
    const design = { groups: ["off", "on"], runsPerGroup, directions: 2, orders: "any" } as const;
    const days = 400;
    let found = 0;
    for (let i = 0; i < days; i += 1) {
      const p = judgeAsPlanned({ effect: 1.6, drift: 0, directionEffect: 1 }, random, design).asPlanned?.pTwoSided as number;
      if (p <= 0.05) found += 1;
    }
    expect(Math.abs(found / days - powerOf(1.6, runsPerGroup, 2))).toBeLessThan(0.02 + 3 * Math.sqrt(0.25 / days));
  });
});

describe("a season of several days, compared within strata", () => {
  test("raises no more false alarms than it says and covers what it claims, although day, surface and way part times far more", () => {
    const seasons = 400;
    let [alarms, held, made, claimed] = [0, 0, 0, 0];
    for (let i = 0; i < seasons; i += 1) {
      if (claims(simulateSeason(i, { dryS: 0, wetS: 0 }))) alarms += 1;
      const same = simulateSeason(seasons + i, { dryS: -0.08, wetS: -0.08 });
      if (covers(same, -0.08)) held += 1;
      if (same.effectDiffers.length > 0) made += 1;
      claimed += (same.said?.coverage ?? 1) / seasons;
    }
    const chance = 3 * Math.sqrt((0.05 * 0.95) / seasons);
    expect(alarms / seasons).toBeLessThan(0.05 + chance);
    expect(made / seasons).toBeLessThan(0.05 + chance);
    expect(held / seasons).toBeGreaterThan(claimed - chance);
  });
});
