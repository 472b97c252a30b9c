/**
 * A test plan: groups, gates, runs, directions, and an order drawn at random from a stated set with a stored seed. An unsafe or impossible
 * plan throws PlanError with what to change.
 */
import { type Gate, STANDARD_GATES } from "../launch/gate.ts";
import { checkDesign, drawOrder, type OrderSetName, slotDirection } from "./order-set.ts";
import { describeChoice, type PlanChoice } from "./plan-choices.ts";
import { checkUsableLength, lengthWords, type LengthCheck, type SeenGate } from "./usable-length.ts";

export class PlanError extends Error {
  readonly code = "plan";
}

/** Limits within which a value must lie before a slot is driven. */
export interface HoldWindow {
  readonly low?: number;
  readonly high?: number;
}

export interface PlanRequest {
  readonly groups: readonly string[];
  readonly runsPerGroup: number;
  readonly directions: 1 | 2;
  readonly orders: OrderSetName;
  /** Gate names; the verdict is about the first. */
  readonly gates: readonly string[];
  readonly usableLengthM: number;
  /** Names of the two directions, outbound first. */
  readonly directionNames?: readonly [string, string];
  /** Groups that run without traction control: these need a note about run-off. */
  readonly withoutControl: readonly string[];
  readonly wet: boolean;
  readonly runOffNote: string;
  /** Keys as in a run's measured conditions. */
  readonly hold: Readonly<Record<string, HoldWindow>>;
  readonly leastWaitS: number;
  /** Where absent, the host draws one. */
  readonly seed?: number;
}

export interface PlanSlot {
  readonly slot: number;
  readonly group: string;
  readonly direction: string;
}

export interface Plan {
  readonly request: PlanRequest & { readonly seed: number };
  readonly order: readonly number[];
  readonly slots: readonly PlanSlot[];
  readonly choice: PlanChoice;
  readonly length: LengthCheck;
}

export interface PlanContext {
  /** Used where the request has no seed; stored with the plan. */
  readonly freshSeed: number;
  /** Gates of the book besides the standard ones. */
  readonly ownGates: readonly Gate[];
  /** What stored runs have shown for each gate. */
  readonly seen: Readonly<Record<string, SeenGate>>;
}

const asPlanError = <T>(make: () => T): T => {
  try {
    return make();
  } catch (error) {
    if (error instanceof RangeError) throw new PlanError(error.message, { cause: error });
    throw error;
  }
};

function checkSafety(request: PlanRequest): void {
  const unknown = request.withoutControl.find((group) => !request.groups.includes(group));
  if (unknown !== undefined) throw new PlanError(`"withoutControl" names ${JSON.stringify(unknown)}, which is no group of the plan`);
  const why = request.wet ? "Wet runs" : request.withoutControl.length > 0 ? "Runs without traction control" : null;
  if (why && request.runOffNote.trim() === "")
    throw new PlanError(`${why} need a note of the run-off: say in "runOffNote" what lies beyond the end and to both sides`);
}

/**
 * Draws the plan. The same request and seed give the same order. Throws PlanError: unsafe length, missing note about run-off, unknown gate,
 * impossible design.
 */
export function createPlan(request: PlanRequest, context: PlanContext): Plan {
  const gates = request.gates.map((name) => {
    const gate = [...STANDARD_GATES, ...context.ownGates].find((known) => known.name === name);
    if (!gate)
      throw new PlanError(
        `Gate ${JSON.stringify(name)} is unknown: add it with \`gates --add\`, or name one of ${STANDARD_GATES.map((g) => g.name).join(", ")}`,
      );
    return gate;
  });
  asPlanError(() => checkDesign(request));
  checkSafety(request);
  const length = asPlanError(() => checkUsableLength(gates, request.usableLengthM, context.seen));
  if (!length.fits) throw new PlanError(`The usable length is too short: ${lengthWords(length)}. Take a longer stretch or a lower gate`);
  const seed = request.seed ?? context.freshSeed;
  const order = asPlanError(() => drawOrder(request, seed));
  const names = request.directionNames ?? ["outbound", "back"];
  const slots = order.map((group, slot) => ({
    slot,
    group: request.groups[group] as string,
    direction: names[slotDirection(request, slot)] as string,
  }));
  return { request: { ...request, seed }, order, slots, choice: describeChoice(request), length };
}
