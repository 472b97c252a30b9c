/** A group of runs with all that was found of it: where its time went, and what its control was seen doing (medians over its runs; null where it was not seen). */
import type { Figure } from "./figure.ts";
import type { GroupLosses } from "./group-losses.ts";

export interface ControlSeen {
  /** Slip ratio it holds once settled. */
  readonly holdsSlipAt: Figure | null;
  /** From slip passing what it then holds to torque coming down. */
  readonly answersAfterS: Figure | null;
  /** Largest slip over the slip then held, less one. */
  readonly overshoot: Figure | null;
  readonly settlesAfterS: Figure | null;
  readonly oscillationHz: Figure | null;
  /** How often it looks, as far as the bus lets that be seen. */
  readonly seenEveryS: Figure | null;
}

export interface AdvisedGroup extends GroupLosses {
  readonly control: ControlSeen;
}
