/** What each way of drawing the order can reach, shown before anyone drives. */
import { drawFrom, fixOthers, forEachOrder, type Order, type OrderSetName, type PlanDesign } from "./order-set.ts";
import { createSeededRandom } from "./seeded-random.ts";

export interface PlanChoice {
  readonly orders: OrderSetName;
  readonly directions: 1 | 2;
  readonly runsPerGroup: number;
  /** Orders the lot draws from (of one pair, the others standing, with more than two groups); null above the countable. */
  readonly arrangements: number | null;
  readonly smallestPossibleP: number | null;
  /** Share of a steady drift that the order keeps out of the difference, against driving one group wholly first: typical (root mean square) and at worst. */
  readonly driftCancelledTypical: number;
  readonly driftCancelledWorst: number;
  readonly suggested: boolean;
}

const MOST_COUNTED = 3_000_000;
const SAMPLED_DRAWS = 2_000;
/** Six and six (DESIGN): small enough for a morning, large enough for 2 in 380. */
export const SUGGESTED_RUNS = 6;

/** Mean place of b less that of a, as a share of what driving a wholly before b gives. */
export function driftLeak(order: Order, a: number, b: number): number {
  let sum = 0;
  let runs = 0;
  let place = 0;
  for (const group of order) {
    if (group === a) {
      sum -= place;
      runs += 1;
    }
    if (group === b) sum += place;
    if (group === a || group === b) place += 1;
  }
  return runs === 0 ? 0 : sum / runs / runs;
}

/** Counts and drift for one design. The seed only serves the sampled drift figures. */
export function describeChoice(design: PlanDesign, seed = 1): PlanChoice {
  const random = createSeededRandom(seed);
  const sample = Array.from({ length: SAMPLED_DRAWS }, () => driftLeak(drawFrom(design, random), 0, 1));
  let worst = sample.reduce((most, leak) => Math.max(most, Math.abs(leak)), 0);
  const fixed = design.groups.length === 2 ? undefined : fixOthers(drawFrom(design, random), 0, 1);
  const visit = (order: Order) => {
    worst = Math.max(worst, Math.abs(driftLeak(order, 0, 1)));
  };
  const arrangements = forEachOrder(design, visit, { most: MOST_COUNTED, ...(fixed ? { fixed } : {}) });
  const typical = Math.sqrt(sample.reduce((sum, leak) => sum + leak ** 2, 0) / sample.length);
  return {
    orders: design.orders,
    directions: design.directions,
    runsPerGroup: design.runsPerGroup,
    arrangements,
    smallestPossibleP: arrangements === null ? null : 2 / arrangements,
    driftCancelledTypical: 1 - typical,
    driftCancelledWorst: 1 - worst,
    suggested: design.runsPerGroup === SUGGESTED_RUNS && design.directions === 2 && design.orders === "balanced",
  };
}

/** Every choice for these groups that can be drawn: the three sets of orders, in one direction and in two. */
export function planChoices(groups: readonly string[], runsPerGroup: number): PlanChoice[] {
  const sets: readonly OrderSetName[] = ["balanced", "blocks", "any"];
  return ([2, 1] as const).flatMap((directions) =>
    sets
      .filter((orders) => orders !== "blocks" || runsPerGroup % directions === 0)
      .map((orders) => describeChoice({ groups, runsPerGroup, directions, orders })),
  );
}
