/** Sources: counts by elementary combinatorics (2/70, 2/36, 2/400, 2/380, 0.1). */
import { describe, expect, test } from "vitest";
import {
  createPairLot,
  drawFrom,
  drawOrder,
  fixOthers,
  forEachOrder,
  type PlanDesign,
  slotDirection,
} from "../../../src/shared/judge/order-set.ts";
import { countOrders } from "../../../src/shared/judge/count-orders.ts";
import { choiceDesigns, describeChoice, driftLeak } from "../../../src/shared/judge/plan-choices.ts";
import { createSeededRandom } from "../../../src/shared/judge/seeded-random.ts";

const design = (runsPerGroup: number, directions: 1 | 2, orders: PlanDesign["orders"], groups = ["off", "on"]): PlanDesign => ({
  groups,
  runsPerGroup,
  directions,
  orders,
});

describe("order sets", () => {
  test.each([
    [3, 1, "any", 20, 0.1],
    [4, 1, "any", 70, 2 / 70],
    [4, 2, "any", 36, 2 / 36],
    [6, 2, "any", 400, 2 / 400],
    [6, 2, "balanced", 380, 2 / 380],
    [6, 1, "any", 924, 2 / 924],
    [6, 2, "blocks", 64, 2 / 64],
  ] as const)("%i a group in %i direction(s), %s: %i orders, smallest chance %f", (runs, directions, orders, count, p) => {
    const choice = describeChoice(design(runs, directions, orders));
    expect(choice.arrangements).toBe(count);
    expect(choice.smallestPossibleP).toBeCloseTo(p, 12);
  });

  test("countOrders() agrees with listing them, and with closed forms where listing takes too long", () => {
    for (const runs of [2, 3, 4, 5, 6, 7]) {
      for (const directions of [1, 2] as const) {
        for (const orders of ["any", "balanced", "blocks"] as const) {
          if (orders === "blocks" && runs % directions !== 0) continue;
          const d = design(runs, directions, orders);
          expect(countOrders(d), JSON.stringify(d)).toBe(forEachOrder(d, () => undefined));
        }
      }
    }
    expect(countOrders(design(15, 1, "any"))).toBe(155_117_520);
    expect(countOrders(design(20, 2, "any"))).toBe(184_756 ** 2);
    expect(() => countOrders(design(4, 2, "any", ["a", "b", "c"]))).toThrow(RangeError);
  });

  test("every listed order is different and keeps the design's shares", () => {
    for (const d of [design(6, 2, "balanced"), design(5, 2, "any"), design(4, 2, "blocks"), design(2, 2, "any", ["a", "b", "c"])]) {
      const seen = new Set<string>();
      const count = forEachOrder(d, (order) => {
        seen.add(order.join(""));
        d.groups.forEach((_, group) => {
          expect(order.filter((g) => g === group)).toHaveLength(d.runsPerGroup);
          const out = order.filter((g, slot) => g === group && slotDirection(d, slot) === 0).length;
          expect(Math.abs(2 * out - d.runsPerGroup)).toBeLessThanOrEqual(1);
        });
      });
      expect(seen.size).toBe(count);
      expect(count).toBeGreaterThan(10);
    }
  });

  test("drawFrom() draws every order of the set, each equally often (chi-square, from memory: under 3 standard deviations)", () => {
    for (const d of [design(4, 2, "balanced"), design(3, 2, "any"), design(4, 1, "blocks"), design(2, 2, "any", ["a", "b", "c"])]) {
      const counts = new Map<string, number>();
      forEachOrder(d, (order) => counts.set(order.join(""), 0));
      const random = createSeededRandom(77);
      const draws = 200 * counts.size;
      for (let i = 0; i < draws; i += 1) {
        const key = drawFrom(d, random).join("");
        expect(counts.has(key)).toBe(true);
        counts.set(key, (counts.get(key) as number) + 1);
      }
      const chiSquare = [...counts.values()].reduce((sum, count) => sum + (count - 200) ** 2 / 200, 0);
      const degrees = counts.size - 1;
      expect(chiSquare).toBeLessThan(degrees + 3 * Math.sqrt(2 * degrees));
    }
  });

  test("the same seed draws the same order, another seed soon another", () => {
    const d = design(6, 2, "balanced");
    expect(drawOrder(d, 41)).toEqual(drawOrder(d, 41));
    expect(new Set(Array.from({ length: 50 }, (_, seed) => drawOrder(d, seed).join(""))).size).toBeGreaterThan(30);
  });

  test("a pair's lot draws each of the pair's orders equally often (chi-square, from memory)", () => {
    const d = design(4, 2, "balanced");
    const counts = new Map<string, number>();
    forEachOrder(d, (order) => counts.set(order.join(""), 0));
    const lot = createPairLot(d, drawOrder(d, 5), 0, 1, createSeededRandom(5));
    for (let i = 0; i < 300 * counts.size; i += 1) {
      const key = lot().join("");
      counts.set(key, (counts.get(key) as number) + 1);
    }
    expect(counts.size).toBe(30);
    const chiSquare = [...counts.values()].reduce((sum, count) => sum + (count - 300) ** 2 / 300, 0);
    expect(chiSquare).toBeLessThan(29 + 3 * Math.sqrt(58));
  });

  test("a pair's orders leave the other groups where they were", () => {
    const d = design(4, 2, "any", ["a", "b", "c"]);
    const order = drawOrder(d, 9);
    const count = forEachOrder(
      d,
      (other) => {
        order.forEach((group, slot) => {
          if (group === 2) expect(other[slot]).toBe(2);
        });
      },
      { fixed: fixOthers(order, 0, 1) },
    );
    expect(count).toBe(36);
    const redrawn = createPairLot(d, order, 0, 1, createSeededRandom(2))();
    expect(redrawn.map((group) => group === 2)).toEqual(order.map((group) => group === 2));
  });

  test("nearly drift-balanced orders leave out the worst, and blocks cancel more", () => {
    const by = (orders: string) =>
      choiceDesigns(["off", "on"], 6)
        .map((design) => describeChoice(design))
        .find((choice) => choice.directions === 2 && choice.orders === orders);
    expect(by("any")?.driftCancelledWorst).toBeCloseTo(0, 12);
    expect(by("balanced")?.driftCancelledWorst).toBeGreaterThan(0.3);
    expect(by("blocks")?.driftCancelledTypical).toBeGreaterThan(by("any")?.driftCancelledTypical as number);
    expect(driftLeak([0, 0, 0, 1, 1, 1], 0, 1)).toBe(1);
    expect(driftLeak([0, 1, 1, 0], 0, 1)).toBe(0);
  });

  test("suggests six and six in two directions, nearly drift-balanced, and nothing else", () => {
    const suggested = [3, 4, 6, 8]
      .flatMap((runs) => choiceDesigns(["off", "on"], runs).map((design) => describeChoice(design)))
      .filter((choice) => choice.suggested);
    expect(suggested.map(({ runsPerGroup, directions, orders }) => [runsPerGroup, directions, orders])).toEqual([[6, 2, "balanced"]]);
  });

  test("refuses designs that cannot be", () => {
    expect(() => drawOrder(design(3, 2, "blocks"), 1)).toThrow(/even number/);
    expect(() => drawOrder(design(1, 1, "any"), 1)).toThrow(RangeError);
    expect(() => drawOrder(design(4, 1, "any", ["on", "on"]), 1)).toThrow(/different names/);
    expect(() => drawOrder(design(4, 1, "any", ["on"]), 1)).toThrow(/two groups/);
  });
});
