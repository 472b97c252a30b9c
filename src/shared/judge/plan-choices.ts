/** What each way of drawing the order can achieve, shown before anyone drives. */
import { countOrders } from "./count-orders.ts";
import { drawFrom, fixOthers, forEachOrder, type Order, type OrderSetName, type PlanDesign } from "./order-set.ts";
import { createSeededRandom } from "./seeded-random.ts";

export interface PlanChoice {
  readonly orders: OrderSetName;
  readonly directions: 1 | 2;
  readonly runsPerGroup: number;
  /** Orders from which is drawn; with more than two groups those of one pair while the others stay (null above a million). */
  readonly arrangements: number | null;
  readonly smallestPossibleP: number | null;
  /**
   * Share of a steady drift that the order keeps out of the difference, compared with driving all of one group first: typical (root mean
   * square) and at worst (a lower bound in sets too large to list).
   */
  readonly driftCancelledTypical: number;
  readonly driftCancelledWorst: number;
  readonly suggested: boolean;
}

const MOST_LISTED = 200_000;
const MOST_PAIR_LISTED = 1_000_000;
const SAMPLED_DRAWS = 2_000;
/** |sum of leads| is at most the sum of |leads|, and that is at most (2 n)^2 / 6; driving one group first gives n^2. */
const BALANCED_MOST_LEAK = 4 / 6;
/** Six and six (docs/design.md): short enough for a morning, long enough for a chance of 2 in 380. */
const SUGGESTED_RUNS = 6;

/** Mean place of b minus that of a, as a share of its value when all of a is driven before b. */
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

/** The greatest share of drift that any order lets through into the difference. */
function worstLeak(design: PlanDesign, arrangements: number | null, seen: number): number {
  if (design.groups.length === 2 && arrangements !== null && arrangements <= MOST_LISTED) {
    let worst = 0;
    forEachOrder(design, (order) => {
      worst = Math.max(worst, Math.abs(driftLeak(order, 0, 1)));
    });
    return worst;
  }
  return design.orders === "any" ? 1 : design.orders === "balanced" ? BALANCED_MOST_LEAK : seen;
}

/** Counts and drift for one design. The seed is used only for the sampled typical drift. */
export function describeChoice(design: PlanDesign, seed = 1): PlanChoice {
  const random = createSeededRandom(seed);
  const sample = Array.from({ length: SAMPLED_DRAWS }, () => driftLeak(drawFrom(design, random), 0, 1));
  const arrangements =
    design.groups.length === 2
      ? countOrders(design)
      : forEachOrder(design, () => undefined, { most: MOST_PAIR_LISTED, fixed: fixOthers(drawFrom(design, random), 0, 1) });
  const typical = Math.sqrt(sample.reduce((sum, leak) => sum + leak ** 2, 0) / sample.length);
  const seen = sample.reduce((most, leak) => Math.max(most, Math.abs(leak)), 0);
  return {
    orders: design.orders,
    directions: design.directions,
    runsPerGroup: design.runsPerGroup,
    arrangements,
    smallestPossibleP: arrangements === null ? null : 2 / arrangements,
    driftCancelledTypical: 1 - typical,
    driftCancelledWorst: 1 - worstLeak(design, arrangements, seen),
    suggested: design.runsPerGroup === SUGGESTED_RUNS && design.directions === 2 && design.orders === "balanced",
  };
}

/** Every design that can be drawn for these groups: the three sets of orders, in two directions and in one. */
export function choiceDesigns(groups: readonly string[], runsPerGroup: number): PlanDesign[] {
  const sets: readonly OrderSetName[] = ["balanced", "blocks", "any"];
  return ([2, 1] as const).flatMap((directions) =>
    sets
      .filter((orders) => orders !== "blocks" || runsPerGroup % directions === 0)
      .map((orders) => ({ groups, runsPerGroup, directions, orders })),
  );
}
