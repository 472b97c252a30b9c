/**
 * Permutation test over the orders the plan's lot could have drawn. Slots without a usable run stay empty in
 * every order; an order that leaves a group without any run counts as extreme, so a gap never flatters.
 */
import { atLeast, mean } from "./permutation.ts";
import { fixOthers, forEachOrder, type Order, type PlanDesign, redrawPair } from "./order-set.ts";
import { createSeededRandom } from "./seeded-random.ts";

const MOST_LISTED_ORDERS = 3_000_000;
const SAMPLED_ORDERS = 100_000;

export interface PlannedResult {
  readonly pTwoSided: number;
  readonly arrangements: number;
  readonly extreme: number;
  readonly smallestPossibleP: number;
  readonly method: "exact" | "sampled";
}

/** `values`: one a slot, null where no run counts. `a`, `b`: indices of groups in the design. Throws RangeError where a group has none. */
export function plannedTest(
  design: PlanDesign,
  order: Order,
  values: readonly (number | null)[],
  a: number,
  b: number,
  seed = 1,
): PlannedResult {
  const known = values.filter((value, slot): value is number => value !== null && (order[slot] === a || order[slot] === b));
  const centre = mean(known);
  const centred = values.map((value) => (value === null ? null : value - centre));
  const difference = (labels: Order): number => {
    let sumA = 0;
    let sumB = 0;
    let countA = 0;
    let countB = 0;
    for (let slot = 0; slot < labels.length; slot += 1) {
      const value = centred[slot];
      if (value === null || value === undefined) continue;
      if (labels[slot] === a) {
        sumA += value;
        countA += 1;
      } else if (labels[slot] === b) {
        sumB += value;
        countB += 1;
      }
    }
    return countA === 0 || countB === 0 ? Number.POSITIVE_INFINITY : Math.abs(sumB / countB - sumA / countA);
  };
  const seen = difference(order);
  if (!Number.isFinite(seen)) throw new RangeError("Expected at least one planned run a group with a time");
  const least = atLeast(seen, known);
  const fixed = fixOthers(order, a, b);
  let extreme = 0;
  const count = (labels: Order) => {
    if (difference(labels) >= least) extreme += 1;
  };
  const listed = forEachOrder(design, count, { fixed, most: MOST_LISTED_ORDERS });
  const alone = smallestCount(order, fixed, values, a, b);
  if (listed !== null) return { pTwoSided: extreme / listed, arrangements: listed, extreme, smallestPossibleP: alone / listed, method: "exact" };
  extreme = 0;
  const random = createSeededRandom(seed);
  for (let draw = 0; draw < SAMPLED_ORDERS; draw += 1) count(redrawPair(design, order, a, b, random));
  const least1 = 1 / (SAMPLED_ORDERS + 1);
  return { pTwoSided: (extreme + 1) * least1, arrangements: SAMPLED_ORDERS, extreme, smallestPossibleP: least1, method: "sampled" };
}

/** Swapping the two names gives an order of the same set: no order is extreme alone where the groups have equally many runs. */
function smallestCount(order: Order, fixed: readonly (number | null)[], values: readonly (number | null)[], a: number, b: number): number {
  const count = (group: number) => order.filter((g, slot) => g === group && fixed[slot] === null && values[slot] !== null).length;
  return count(a) === 0 || count(b) === 0 ? 1 : 2;
}
