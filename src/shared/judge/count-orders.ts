/** Counts the orders of a two-group design without listing them: exact to 2^53. Other designs throw RangeError (list them instead). */
import { checkDesign, isSlotFree, mostSummedLead, type PlanDesign, slotCount, slotDirection } from "./order-set.ts";

/** All that later slots depend on: runs of the first group so far, in each direction, and the sum of leads. */
interface State {
  readonly first: readonly [number, number];
  readonly lead: number;
  readonly summedLead: number;
}

/** Counts slot by slot over the few different states instead of over all orders. */
export function countOrders(design: PlanDesign): number {
  checkDesign(design);
  if (design.groups.length !== 2) throw new RangeError(`Expected two groups, got ${design.groups.length}`);
  if (design.orders === "blocks") return 2 ** design.runsPerGroup;
  const most = design.orders === "balanced" ? mostSummedLead(design) : Number.POSITIVE_INFINITY;
  let states = new Map<string, { state: State; count: number }>([["", { state: { first: [0, 0], lead: 0, summedLead: 0 }, count: 1 }]]);
  for (let slot = 0; slot < slotCount(design); slot += 1) {
    const direction = slotDirection(design, slot);
    const next = new Map<string, { state: State; count: number }>();
    const slotsBefore = design.directions === 1 ? slot : direction === 0 ? Math.ceil(slot / 2) : Math.floor(slot / 2);
    for (const { state, count } of states.values()) {
      for (const group of [0, 1]) {
        const taken = group === 0 ? state.first[direction] : slotsBefore - state.first[direction];
        if (!isSlotFree(design, direction, taken)) continue;
        const first: [number, number] = [...state.first];
        if (group === 0) first[direction] += 1;
        const lead = state.lead + (group === 0 ? 1 : -1);
        const summedLead = most === Number.POSITIVE_INFINITY ? 0 : state.summedLead + Math.abs(lead);
        if (summedLead > most) continue;
        const key = `${first[0]},${first[1]},${summedLead}`;
        const known = next.get(key);
        if (known) known.count += count;
        else next.set(key, { state: { first, lead, summedLead }, count });
      }
    }
    states = next;
  }
  return [...states.values()].filter(({ state }) => state.lead === 0).reduce((sum, { count }) => sum + count, 0);
}
