/** The answer about what to change next: the JSON of `advise`. Unknown is null with a reason beside it. */
import type { StartName } from "../launch/gate-result.ts";
import type { Advice } from "./advise.ts";
import type { AdvisedGroup } from "./advised-group.ts";
import type { FittedCar } from "./fitted-car.ts";
import type { GripCurve } from "./grip-curve.ts";

export interface TuneAnswer {
  readonly gate: string;
  readonly start: StartName;
  /** Null without a run to fit it to. */
  readonly car: FittedCar | null;
  readonly grip: readonly GripCurve[];
  readonly groups: readonly AdvisedGroup[];
  readonly advice: readonly Advice[];
  /** Why nothing more is advised, and what would help. */
  readonly silent: readonly string[];
}
