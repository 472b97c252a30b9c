/**
 * Whether the car has stood still for a second by every source that is received. The first of motor, wheels and receiver to see it roll
 * ends this. Without motor speed the answer is never yes: a receiver's noise and a wheel sensor's dead zone hide the first half metre.
 */
import { STAND_MPS } from "./ground-trace.ts";

const STILL_FOR_S = 1;
/**
 * A motor without frames for this long may be turning. With a screen's step and a frame's travel time, rolling is then noticed within 0.3
 * s.
 */
const MOTOR_SILENT_S = 0.22;
/** Radius and sensor scales may be some percent off, and the frame takes a while to arrive. */
const WHEEL_MPS = 0.7 * STAND_MPS;

export interface StillWatch {
  /** What the sources show at a time; times do not fall. Speeds in m/s of the road, of either sign; null where unknown or stale. */
  push(seen: {
    readonly tS: number;
    readonly motor: { readonly mps: number; readonly heardS: number } | null;
    readonly wheelsMps: readonly (number | null)[];
    /** The receiver showed movement in the last second, or its newest speed shows it, or it is not received. */
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
