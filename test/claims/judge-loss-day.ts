/** One test day's lost time, group by group, held against the truth. A day whose peak was not claimed, or whose gate was not reached, gives no outcome. */
import { STANDARD_GATES } from "../../src/shared/launch/gate.ts";
import type { SetUp } from "../../src/shared/setup/set-up.ts";
import { fitCar } from "../../src/shared/tune/fit-car.ts";
import { gentleBlocks } from "../../src/shared/tune/force-blocks.ts";
import { gripCurves } from "../../src/shared/tune/grip-curves.ts";
import { groupLosses } from "../../src/shared/tune/group-losses.ts";
import { LOSS_CAUSES, type LossCause } from "../../src/shared/tune/losses.ts";
import { trueLosses } from "./loss-truth.ts";
import type { Outcome } from "./tally.ts";
import { tuneDay, type TuneDayClass } from "./tune-day.ts";

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

export function judgeLossDay(seed: number, day: TuneDayClass): LossCase {
  const known = tuneDay(seed, day);
  const { runs, recording } = known;
  const [first] = runs;
  if (first?.calibration == null) throw new RangeError("Expected calibrated runs");
  const setUp: SetUp = { car: first.car, sources: {}, database: [], signals: {} };
  const car = fitCar(runs, {
    gentle: gentleBlocks(recording, first.calibration, setUp),
    tolerance: { mass: 0, frontWeightShare: 0, cgHeight: 0 },
  });
  const curves = gripCurves(runs, car);
  const gate = STANDARD_GATES.find(({ name }) => name === "0-60 mph");
  if (gate === undefined) throw new RangeError("Expected 0-60 mph among the standard gates");
  const outcomes: LossOutcome[] = [];
  let untold = 0;
  for (const label of [...new Set(runs.map((run) => run.label))]) {
    const group = runs.filter((run) => run.label === label);
    const truths = group.map((run) => trueLosses(known, runs.indexOf(run), SIXTY_MPS));
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
