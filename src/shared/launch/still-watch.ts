/**
 * Whether the car has stood still for a second by every source that speaks: the first of motor, wheels and receiver to see it roll ends that.
 * Without the motor's speed it is never said: a receiver's noise and a wheel sensor's dead zone hide the first half metre.
 */
import { STAND_MPS } from "./ground-trace.ts";

const STILL_FOR_S = 1;
/** A motor that fell silent may be turning: with a screen's step and a frame's way this stays under 0.3 s. */
const MOTOR_SILENT_S = 0.22;
/** Radius and sensor scales may be some percent off, and the frame is on its way for a while. */
const WHEEL_MPS = 0.7 * STAND_MPS;

export interface StillWatch {
  /** What the sources say at a time; times do not fall. Speeds in m/s of the road, of either sign; null where unknown or stale. */
  push(seen: {
    readonly tS: number;
    readonly motor: { readonly mps: number; readonly heardS: number } | null;
    readonly wheelsMps: readonly (number | null)[];
    /** The receiver's last second held a movement, or its newest speed is one, or it is not heard. */
    readonly receiverMoves: boolean;
  }): void;
  still(): boolean;
}

export function createStillWatch(): StillWatch {
  let stillSinceS: number | null = null;
  let nowS = Number.NEGATIVE_INFINITY;

  return {
    push({ tS, motor, wheelsMps, receiverMoves }) {
      nowS = tS;
      const quiet =
        motor !== null &&
        tS - motor.heardS <= MOTOR_SILENT_S &&
        Math.abs(motor.mps) < WHEEL_MPS &&
        wheelsMps.every((mps) => mps === null || Math.abs(mps) < WHEEL_MPS) &&
        !receiverMoves;
      stillSinceS = quiet ? (stillSinceS ?? tS) : null;
    },
    still: () => stillSinceS !== null && nowS - stillSinceS >= STILL_FOR_S,
  };
}
