/**
 * Permutation test over the orders that the plan's draw could have given. Slots without a usable run stay empty in every order. An order
 * that leaves a group without any run counts as extreme, so that missing runs never make the chance look smaller.
 */
import { atLeast, mean } from "./counting.ts";
import { createPairLot, fixOthers, forEachOrder, type Order, type PlanDesign } from "./order-set.ts";
import { createSeededRandom } from "./seeded-random.ts";

const MOST_LISTED_ORDERS = 1_000_000;
const SAMPLED_ORDERS = 100_000;

export interface PlannedResult {
  /** mean(b) - mean(a) over the plan's runs: what the orders are held against. */
  readonly shift: number;
  readonly pTwoSided: number;
  readonly arrangements: number;
  readonly extreme: number;
  readonly smallestPossibleP: number;
  readonly method: "exact" | "sampled";
  /** Every shift of b against a that this very test does not refuse at this level: holds 0 just when p exceeds it. Null: so few orders refuse nothing. */
  interval(level: number): { readonly low: number; readonly high: number; readonly coverage: number } | null;
}

interface Labelled {
  /** mean(b) - mean(a) under these labels. */
  readonly difference: number;
  /** How much of a true shift of b these labels would show: 1 as driven, -1 with the two labels exchanged. */
  readonly share: number;
}

function relabel(labels: Order, values: readonly (number | null)[], driven: Order, a: number, b: number): Labelled | null {
  const sum = [0, 0];
  const count = [0, 0];
  const ofB = [0, 0];
  for (let slot = 0; slot < labels.length; slot += 1) {
    const value = values[slot];
    if (value === null || value === undefined) continue;
    const side = labels[slot] === a ? 0 : labels[slot] === b ? 1 : -1;
    if (side < 0) continue;
    sum[side] = sum[side] + value;
    count[side] = count[side] + 1;
    if (driven[slot] === b) ofB[side] = ofB[side] + 1;
  }
  const [countA, countB] = count as [number, number];
  if (countA === 0 || countB === 0) return null;
  return {
    difference: sum[1] / countB - sum[0] / countA,
    share: ofB[1] / countB - ofB[0] / countA,
  };
}

/**
 * Shifts at which these labels give a difference at least as large as the driven labels do: always an interval around the difference seen.
 */
function refusalEnds(labelled: Labelled | null, seen: number): [number, number] {
  if (!labelled || 1 - Math.abs(labelled.share) < 1e-9) return [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  const { difference, share } = labelled;
  const ends = [(seen - difference) / (1 - share), (seen + difference) / (1 + share)] as const;
  return [Math.min(...ends), Math.max(...ends)];
}

/** `beside`: orders that count besides those drawn (one, where they were a sample: the order driven). */
function intervalOf(lows: readonly number[], highs: readonly number[], beside: 0 | 1): PlannedResult["interval"] {
  const [sortedLows, sortedHighs] = [Float64Array.from(lows).sort(), Float64Array.from(highs).sort()];
  const total = lows.length + beside;
  return (level) => {
    const refused = Math.floor(level * total + 1e-9) - beside;
    const low = sortedLows[refused] ?? Number.NEGATIVE_INFINITY;
    const high = sortedHighs[sortedHighs.length - 1 - refused] ?? Number.POSITIVE_INFINITY;
    return Number.isFinite(low) && Number.isFinite(high) ? { low, high, coverage: 1 - (refused + beside) / total } : null;
  };
}

/**
 * `values`: one for each slot, null where no run counts. `a`, `b`: indices of groups in the design; differences are b - a. Throws
 * RangeError where a group has no value.
 */
export function plannedTest(
  input: {
    readonly design: PlanDesign;
    readonly order: Order;
    readonly values: readonly (number | null)[];
    readonly a: number;
    readonly b: number;
  },
  seed = 1,
): PlannedResult {
  const { design, order, values, a, b } = input;
  const known = values.filter((value, slot): value is number => value !== null && (order[slot] === a || order[slot] === b));
  const centre = known.length === 0 ? 0 : mean(known);
  const centred = values.map((value) => (value === null ? null : value - centre));
  const driven = relabel(order, centred, order, a, b);
  if (!driven) throw new RangeError("Expected at least one planned run a group with a time");
  const least = atLeast(driven.difference, known);
  const fixed = fixOthers(order, a, b);
  const lows: number[] = [];
  const highs: number[] = [];
  let extreme = 0;
  const count = (labels: Order) => {
    const labelled = relabel(labels, centred, order, a, b);
    if (!labelled || Math.abs(labelled.difference) >= least) extreme += 1;
    const [low, high] = refusalEnds(labelled, driven.difference);
    lows.push(low);
    highs.push(high);
  };
  const listed = forEachOrder(design, count, { fixed, most: MOST_LISTED_ORDERS });
  const shift = driven.difference;
  if (listed !== null) {
    const alone = smallestCount(order, fixed, values, a, b);
    const interval = intervalOf(lows, highs, 0);
    return {
      shift,
      pTwoSided: extreme / listed,
      arrangements: listed,
      extreme,
      smallestPossibleP: alone / listed,
      method: "exact",
      interval,
    };
  }
  extreme = 0;
  lows.length = 0;
  highs.length = 0;
  const lot = createPairLot(design, order, a, b, createSeededRandom(seed));
  for (let draw = 0; draw < SAMPLED_ORDERS; draw += 1) count(lot());
  const one = 1 / (SAMPLED_ORDERS + 1);
  const interval = intervalOf(lows, highs, 1);
  return {
    shift,
    pTwoSided: (extreme + 1) * one,
    arrangements: SAMPLED_ORDERS,
    extreme,
    smallestPossibleP: one,
    method: "sampled",
    interval,
  };
}

/** Exchanging the two labels gives an order of the same set, so extreme orders come in pairs where the groups have equally many runs. */
function smallestCount(order: Order, fixed: readonly (number | null)[], values: readonly (number | null)[], a: number, b: number): number {
  const count = (group: number) => order.filter((g, slot) => g === group && fixed[slot] === null && values[slot] !== null).length;
  return count(a) === 0 || count(b) === 0 ? 1 : 2;
}
