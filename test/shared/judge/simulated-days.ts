/** Days drawn by a seeded generator: normal scatter, steady drift, a direction effect; and three rules that judge them. */
import { compare } from "../../../src/shared/judge/compare.ts";
import { drawFrom, slotDirection, type PlanDesign } from "../../../src/shared/judge/order-set.ts";
import { testWithinStrata } from "../../../src/shared/judge/within-strata.ts";
import type { SeededRandom } from "../../../src/shared/judge/seeded-random.ts";
import type { Comparison } from "../../../src/shared/judge/judged-run.ts";
import { judgedRun } from "./judged-run.fixture.ts";

/** All in standard deviations of a single run. */
export interface Day {
  readonly effect: number;
  /** From the first run of the test to its last. */
  readonly drift: number;
  readonly directionEffect: number;
}

const SCATTER_S = 0.1;
const SUGGESTED: PlanDesign = { groups: ["off", "on"], runsPerGroup: 6, directions: 2, orders: "balanced" };

function secondsOf(day: Day, group: number, position: number, runs: number, direction: number, random: SeededRandom): number {
  const standard = day.effect * group + (day.drift * position) / (runs - 1) + day.directionEffect * direction + random.normal();
  return 5 + SCATTER_S * standard;
}

/** The suggested plan: order drawn at random, judged over the orders of that draw. */
export function judgeAsPlanned(day: Day, random: SeededRandom, design: PlanDesign = SUGGESTED): Comparison {
  const order = drawFrom(design, random);
  const runs = order.map((group, slot) =>
    judgedRun(slot + 1, design.groups[group] as string, secondsOf(day, group, slot, order.length, slotDirection(design, slot), random)),
  );
  const plan = { design, order, slots: runs.map((run) => run.id), seed: 1 };
  return compare({ gate: "0-60 mph", start: "movement", groups: design.groups, runs, plan });
}

/** Four without, then four with, judged as if the order had been drawn. */
export function fourThenFourClaims(day: Day, random: SeededRandom): boolean {
  const drive = (group: number) => Array.from({ length: 4 }, (_, i) => secondsOf(day, group, 4 * group + i, 8, i % 2, random));
  const [off, on] = [drive(0), drive(1)];
  return testWithinStrata([{ a: off, b: on }]).pTwoSided <= 0.05;
}

/** Three without, then three with: the group with the better best time wins. */
export function bestOfThreeClaims(day: Day, random: SeededRandom): boolean {
  const drive = (group: number) => Array.from({ length: 3 }, (_, i) => secondsOf(day, group, 3 * group + i, 6, i % 2, random));
  const [off, on] = [drive(0), drive(1)];
  return Math.min(...on) < Math.min(...off);
}
