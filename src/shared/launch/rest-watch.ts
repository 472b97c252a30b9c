/** What the receiver's last seconds say as they come: standing, gathering speed hard, how noisy at rest. Memory is bounded; before a second was heard nothing is said. */
import type { ReceiverNoise } from "../align/calibration.ts";
import { type GroundTrace, isHardUntil, isStandingAt, restSquareAt, STAND_MPS, traceOf } from "./ground-trace.ts";

const KEEP_S = 3;
/** Noise at rest is told from the last minute's standing. */
const NOISE_OVER_S = 60;
/** A standing speed is Rayleigh distributed: beyond 3.5 sigma lie 2 in 1,000. */
const MOVES_SIGMAS = 3.5;

/** Rolling is feared sooner than movement is believed: beyond 4.5 sigma lie 4 in 100,000. */
const ROLLS_SIGMAS = 4.5;

export interface RestWatch {
  /** A receiver speed at the instant the car had it (delay removed); times rise. */
  push(tS: number, speedMps: number): void;
  /** Whether the second before the newest epoch was under 0.5 km/h. */
  atRest(): boolean;
  /** Whether the half second, or longer, before the newest epoch was over 2.5 m/s2. */
  hard(): boolean;
  /** Whether the newest epoch is beyond what noise makes of a standing car. */
  moves(): boolean;
  /** Whether the newest epoch is over 0.5 km/h and no noise: a car that rolls, and once in half an hour one that stands. */
  rolls(): boolean;
  /** What noise may add to 0 at rest. */
  restLevelMps(): number;
}

/** `noise`: the calibration's, asked anew with each epoch. */
export function createRestWatch(noise: () => ReceiverNoise): RestWatch {
  let t: number[] = [];
  let v: number[] = [];
  let squares: { tS: number; square: number }[] = [];
  let trace: GroundTrace = traceOf(t, v, noise(), []);
  // Asked at every sample, they change with an epoch only.
  let atRest: boolean | null = null;
  let hard: boolean | null = null;

  return {
    push(tS, speedMps) {
      if (!Number.isFinite(speedMps) || tS <= (t.at(-1) ?? Number.NEGATIVE_INFINITY)) return;
      const first = t.findIndex((one) => one >= tS - KEEP_S);
      t = first < 0 ? [tS] : [...t.slice(first), tS];
      v = first < 0 ? [speedMps] : [...v.slice(first), speedMps];
      const square = restSquareAt(t, v, t.length - 1);
      if (!Number.isNaN(square)) squares.push({ tS, square });
      squares = squares.filter((one) => one.tS >= tS - NOISE_OVER_S);
      trace = traceOf(
        t,
        v,
        noise(),
        squares.map((one) => one.square),
      );
      atRest = null;
      hard = null;
    },
    atRest() {
      atRest ??= t.length > 0 && isStandingAt(trace, t.length - 1);
      return atRest;
    },
    hard() {
      hard ??= t.length > 1 && isHardUntil(trace, t.length - 1);
      return hard;
    },
    moves: () => (v.at(-1) ?? 0) > STAND_MPS + MOVES_SIGMAS * trace.noiseMps,
    rolls: () => (v.at(-1) ?? 0) > Math.max(STAND_MPS, ROLLS_SIGMAS * trace.noiseMps),
    restLevelMps: () => trace.restLevelMps,
  };
}
