/** One test day's lost time, group by group, held against the truth. A day whose peak was not claimed, or whose gate was not reached, gives no outcome. */
import { STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import { fitCar } from "../../src/shared/tune/fit-car.ts";
import { gripCurves } from "../../src/shared/tune/grip-curves.ts";
import { groupLosses } from "../../src/shared/tune/group-losses.ts";
import { LOSS_CAUSES, type LossCause } from "../../src/shared/tune/losses.ts";
import { trueLosses } from "./loss-truth.ts";
import type { Outcome } from "./tally.ts";
import type { TuneDay } from "./tune-day.ts";

export type LossFigure = LossCause | "quickest";

export interface LossOutcome extends Outcome {
  readonly figure: LossFigure;
  readonly truth: number;
}

export interface LossCase {
  /** Of each group with a quickest. */
  readonly outcomes: readonly LossOutcome[];
  /** Groups without one. */
  readonly untold: number;
}

const SIXTY_MPS = 60 * 0.44704;

/** What was truly lost in each launch; null where one never reached the gate's speed. */
export const lossTruths = (known: TuneDay) => known.runs.map((_, launch) => trueLosses(known, launch, SIXTY_MPS));

export function judgeLossDay({ runs, gentle }: Pick<TuneDay, "runs" | "gentle">, all: ReturnType<typeof lossTruths>): LossCase {
  const car = fitCar(runs, { gentle, tolerance: { mass: 0, frontWeightShare: 0, cgHeight: 0 } });
  const curves = gripCurves(runs, car);
  const gate = STANDARD_GATES.find(({ name }) => name === "0-60 mph");
  if (gate === undefined) throw new RangeError("Expected 0-60 mph among the standard gates");
  const outcomes: LossOutcome[] = [];
  let untold = 0;
  for (const label of [...new Set(runs.map((run) => run.label))]) {
    const group = runs.filter((run) => run.label === label);
    const truths = group.map((run) => all[runs.indexOf(run)] ?? null);
    const found = groupLosses({ label, runs: group, gate, start: "movement", car, curves });
    if (found.quickest === null || truths.includes(null)) {
      untold += 1;
      continue;
    }
    const mean = (pick: (of: NonNullable<(typeof truths)[number]>) => number) =>
      truths.reduce((sum, of) => sum + (of === null ? Number.NaN : pick(of)), 0) / truths.length;
    const add = (figure: LossFigure, value: number, plusMinus95: number, truth: number) =>
      outcomes.push({ figure, error: value - truth, plusMinus95, truth });
    add(
      "quickest",
      found.quickest.value,
      found.quickest.plusMinus95,
      mean((of) => of.quickest),
    );
    for (const cause of LOSS_CAUSES) {
      const loss = found.losses.find((one) => one.cause === cause);
      if (loss !== undefined)
        add(
          cause,
          loss.seconds,
          loss.plusMinus95,
          mean((of) => of.losses[cause]),
        );
    }
  }
  return { outcomes, untold };
}
