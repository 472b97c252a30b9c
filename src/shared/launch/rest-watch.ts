/**
 * What the receiver's last seconds show as they come in: standing, hard acceleration, noise at rest. Memory is bounded. Before a second of
 * data nothing is concluded.
 */
import type { ReceiverNoise } from "../align/calibration.ts";
import { type GroundTrace, isHardUntil, isStandingAt, restSquareAt, STAND_MPS, traceOf } from "./ground-trace.ts";

const KEEP_S = 3;
/** Noise at rest is measured over the standing of the last minute. */
const NOISE_OVER_S = 60;
/** A speed at rest is Rayleigh distributed: 2 in 1,000 lie beyond 3.5 sigma. */
const MOVES_SIGMAS = 3.5;

/** For "rolling" a false alarm costs more here: 4 in 100,000 lie beyond 4.5 sigma. */
const ROLLS_SIGMAS = 4.5;

export interface RestWatch {
  /** A receiver speed at the instant when the car had it (delay removed); times rise. */
  push(tS: number, speedMps: number): void;
  /** Whether the second before the newest epoch was under 0.5 km/h. */
  atRest(): boolean;
  /** Whether the acceleration in the half second (or longer) before the newest epoch was over 2.5 m/s2. */
  hard(): boolean;
  /** Whether the newest speed is higher than noise makes it for a standing car. */
  moves(): boolean;
  /**
   * Whether the newest speed is over 0.5 km/h and surely not noise. True for a car that rolls; by chance true about once in half an hour
   * for one that stands.
   */
  rolls(): boolean;
  /** Speed that noise may show at rest. */
  restLevelMps(): number;
}

/** `noise`: the calibration's, asked for again with each epoch. */
export function createRestWatch(noise: () => ReceiverNoise): RestWatch {
  let t: number[] = [];
  let v: number[] = [];
  let squares: { tS: number; square: number }[] = [];
  let trace: GroundTrace = traceOf(t, v, noise(), []);
  // Read at every sample, but they change only with an epoch.
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
