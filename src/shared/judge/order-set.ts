/**
 * The sets of orders from which a plan's order is drawn: counted, listed and drawn. An order names the group of each slot. An impossible
 * design (no groups, no runs, blocks that do not fit) throws RangeError.
 */
import { createSeededRandom, type SeededRandom, shuffle } from "./seeded-random.ts";

/**
 * "any": each group equally often in each direction (to one run). "blocks": in addition, every block holds each group once a direction.
 * "balanced": as "any", without the orders in which one group is far ahead for long.
 */
export type OrderSetName = "any" | "blocks" | "balanced";

export interface PlanDesign {
  readonly groups: readonly string[];
  readonly runsPerGroup: number;
  /** 2: slots alternate in direction, slot 0 is outbound. */
  readonly directions: 1 | 2;
  readonly orders: OrderSetName;
}

/** Group index of each slot. */
export type Order = readonly number[];

/** Limit for "balanced": averaged over the slots, no group is further ahead of another than this share of the pair's runs. */
const MOST_MEAN_LEAD = 1 / 6;

export function slotCount(design: PlanDesign): number {
  return design.groups.length * design.runsPerGroup;
}

export function slotDirection(design: PlanDesign, slot: number): 0 | 1 {
  return design.directions === 2 && slot % 2 === 1 ? 1 : 0;
}

export function checkDesign(design: PlanDesign): void {
  const { groups, runsPerGroup, directions, orders } = design;
  if (groups.length < 2) throw new RangeError(`A plan compares at least two groups, got ${groups.length}`);
  if (new Set(groups).size < groups.length) throw new RangeError(`Groups of a plan need different names, got ${groups.join(", ")}`);
  if (!Number.isInteger(runsPerGroup) || runsPerGroup < 2)
    throw new RangeError(`A plan needs at least 2 runs a group, got ${runsPerGroup}`);
  if (orders === "blocks" && runsPerGroup % directions !== 0)
    throw new RangeError(
      `Blocks in two directions need an even number of runs a group, got ${runsPerGroup}: take ${runsPerGroup + 1} or another set of orders`,
    );
}

/** Number of slots in each direction. */
function directionSlots(design: PlanDesign): [number, number] {
  const slots = slotCount(design);
  return design.directions === 1 ? [slots, 0] : [Math.ceil(slots / 2), Math.floor(slots / 2)];
}

/** Whether a group with `taken` slots in this direction may have one more. */
export function isSlotFree(design: PlanDesign, direction: 0 | 1, taken: number): boolean {
  return taken < Math.min(design.runsPerGroup, Math.ceil(directionSlots(design)[direction] / design.groups.length));
}

/** Sum over all slots of how many runs group a is ahead of b or behind it. */
function summedLead(order: Order, a: number, b: number): number {
  let lead = 0;
  let sum = 0;
  for (const group of order) {
    if (group === a) lead += 1;
    if (group === b) lead -= 1;
    if (group === a || group === b) sum += Math.abs(lead);
  }
  return sum;
}

/** The greatest sum of leads that an order of the set "balanced" may have, for each pair. */
export function mostSummedLead(design: PlanDesign): number {
  const pairSlots = 2 * design.runsPerGroup;
  return pairSlots * pairSlots * MOST_MEAN_LEAD;
}

function isBalanced(design: PlanDesign, order: Order): boolean {
  const most = mostSummedLead(design);
  for (let a = 0; a < design.groups.length; a += 1) {
    for (let b = a + 1; b < design.groups.length; b += 1) if (summedLead(order, a, b) > most) return false;
  }
  return true;
}

/**
 * Calls `visit` with every order of the set; with `fixed`, only with those whose slots hold the fixed groups (null: free). The array is
 * reused: copy what you keep. Returns the number visited, or null once there are more than `most`.
 */
export function forEachOrder(
  design: PlanDesign,
  visit: (order: Order) => void,
  options: { readonly fixed?: readonly (number | null)[]; readonly most?: number } = {},
): number | null {
  checkDesign(design);
  const { fixed, most = Number.POSITIVE_INFINITY } = options;
  const groups = design.groups.length;
  const slots = slotCount(design);
  const order: number[] = new Array(slots).fill(0);
  const left = new Array(groups).fill(design.runsPerGroup);
  const used = [new Array(groups).fill(0), new Array(groups).fill(0)] as const;
  const share = [directionSlots(design)[0], directionSlots(design)[1]].map((count) => Math.ceil(count / groups));
  const blockSlots = groups * design.directions;
  let visited = 0;

  const fits = (slot: number, group: number, direction: 0 | 1): boolean => {
    if (left[group] === 0) return false;
    if (design.directions === 2 && used[direction][group] >= share[direction]) return false;
    if (design.orders !== "blocks") return true;
    for (let at = slot - (slot % blockSlots); at < slot; at += 1) {
      if (order[at] === group && slotDirection(design, at) === direction) return false;
    }
    return true;
  };
  const walk = (slot: number): boolean => {
    if (slot === slots) {
      if (design.orders === "balanced" && !isBalanced(design, order)) return true;
      visited += 1;
      if (visited > most) return false;
      visit(order);
      return true;
    }
    const direction = slotDirection(design, slot);
    const held = fixed?.[slot] ?? null;
    for (let group = 0; group < groups; group += 1) {
      if ((held !== null && held !== group) || !fits(slot, group, direction)) continue;
      order[slot] = group;
      left[group] -= 1;
      used[direction][group] += 1;
      const goOn = walk(slot + 1);
      left[group] += 1;
      used[direction][group] -= 1;
      if (!goOn) return false;
    }
    return true;
  };
  return walk(0) ? visited : null;
}

/** Orders that equal `order` in every slot of groups other than a and b: those that count in a test of this pair. */
export function fixOthers(order: Order, a: number, b: number): (number | null)[] {
  return order.map((group) => (group === a || group === b ? null : group));
}

function drawConstrained(design: PlanDesign, random: SeededRandom): number[] {
  const groups = design.groups.length;
  const slots = slotCount(design);
  const all = design.groups.map((_, group) => group);
  const order: number[] = new Array(slots).fill(0);
  const place = (direction: 0 | 1, from: number, to: number, hand: number[]) => {
    const dealt = shuffle(hand, random);
    let at = 0;
    for (let slot = from; slot < to; slot += 1) {
      if (slotDirection(design, slot) !== direction) continue;
      order[slot] = dealt[at];
      at += 1;
    }
  };
  if (design.orders === "blocks") {
    const size = groups * design.directions;
    for (let from = 0; from < slots; from += size) {
      for (let d = 0; d < design.directions; d += 1) place(d as 0 | 1, from, from + size, [...all]);
    }
    return order;
  }
  const repeat = (times: number, list: readonly number[]) => Array.from({ length: times }, () => list).flat();
  if (design.directions === 1) place(0, 0, slots, repeat(design.runsPerGroup, all));
  else {
    // An odd number of runs gives one direction one run more; which groups get it outbound is drawn too.
    const low = Math.floor(design.runsPerGroup / 2);
    const extra = directionSlots(design)[0] - groups * low;
    const outboundExtra = shuffle([...all], random).slice(0, extra);
    const odd = design.runsPerGroup % 2 === 1;
    const backExtra = odd ? all.filter((group) => !outboundExtra.includes(group)) : [];
    place(0, 0, slots, [...repeat(low, all), ...outboundExtra]);
    place(1, 0, slots, [...repeat(low, all), ...backExtra]);
  }
  return order;
}

/** Draws one order; every order of the set is equally likely. */
export function drawFrom(design: PlanDesign, random: SeededRandom): Order {
  checkDesign(design);
  for (;;) {
    const order = drawConstrained(design, random);
    if (design.orders !== "balanced" || isBalanced(design, order)) return order;
  }
}

/** The order drawn with this seed. The seed is stored with the plan, so that the draw can be checked. */
export function drawOrder(design: PlanDesign, seed: number): Order {
  return drawFrom(design, createSeededRandom(seed));
}

/** Slots of the pair that may exchange labels: those of one direction (and block). */
function strata(design: PlanDesign, order: Order, a: number, b: number): number[][] {
  const blockSlots = design.orders === "blocks" ? design.groups.length * design.directions : slotCount(design);
  const found = new Map<number, number[]>();
  order.forEach((group, slot) => {
    if (group !== a && group !== b) return;
    const key = 2 * Math.floor(slot / blockSlots) + slotDirection(design, slot);
    found.set(key, [...(found.get(key) ?? []), slot]);
  });
  return [...found.values()];
}

/** Draws the pair's slots again while the others stay. Every way that keeps each direction's (and block's) share is equally likely. */
export function createPairLot(design: PlanDesign, order: Order, a: number, b: number, random: SeededRandom): () => Order {
  const slotsOf = strata(design, order, a, b);
  return () => {
    for (;;) {
      const drawn = [...order];
      for (const slots of slotsOf) {
        const dealt = shuffle(
          slots.map((slot) => order[slot]),
          random,
        );
        for (let i = 0; i < slots.length; i += 1) drawn[slots[i]] = dealt[i];
      }
      if (design.orders !== "balanced" || isBalanced(design, drawn)) return drawn;
    }
  };
}
