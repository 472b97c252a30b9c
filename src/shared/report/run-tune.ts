/** Grip and lost time of one run, as the archive has them. */
import type { LossSums } from "../tune/losses.ts";

export interface RunTune {
  /** The gate at which time was lost or not. */
  readonly gate: string;
  /** Slip of most grip and greatest friction used, on this run's surface by all of the book's runs there. */
  readonly bestSlip: number | null;
  readonly peakFriction: number | null;
  /** This run's friction over that of its surface: 1.03 means 3 % more grip. */
  readonly ownGrip: number | null;
  /** The least time that this grip, torque and power allow, s; the losses add up to the run's seconds less it. */
  readonly quickestS: number | null;
  readonly losses: LossSums | null;
  /** Why there are no losses; null where there are. */
  readonly why: string | null;
}
