/**
 * Causal ground speed for the live screen: a Kalman filter on speed, acceleration and the receiver's correlated error. An epoch describes a
 * past instant and is applied at that instant (the last second is computed again). Gives null when the speed is no longer known, never the
 * last value, and never uses the driven wheels. Memory is bounded by one second of wheel readings.
 */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import type { Calibration } from "./calibration.ts";
import { createWheelTrust } from "./wheel-trust.ts";

/** How fast acceleration may change, m/s3 per root Hz. A launch builds up 6 m/s2 in about 0.3 s, twice as much as this expects. */
const JERK_DENSITY = 6;
const WHEEL_NOISE_MPS = 0.03;
const HISTORY_S = 1;
const HISTORY_MOST = 2000;
/** A wheel whose innovation exceeds this many standard deviations is locked, lifted or faulty. */
const GATE_SIGMAS = 4;
/** Least width of the gate: tyres slip a little under gentle braking and in bends. */
const GATE_LEAST_MPS = 0.25;
const WORST_SIGMA_MPS = 1.5;
/** When the receiver has been silent for longer, nothing confirms the wheels any more. */
const RECEIVER_VOUCHES_S = 5;

type WheelsState = "used" | "locked" | "lifted" | "silent";

export interface GroundSpeed {
  readonly speedMps: number;
  readonly sigmaMps: number;
  readonly accelerationMps2: number;
  /** State of the undriven wheels at their last reading. */
  readonly wheels: WheelsState;
}

export interface GroundSpeedFilter {
  /** A receiver speed at its epoch's time on the base; the receiver's delay is subtracted here. */
  pushEpoch(epochS: number, speedMps: number): void;
  /** Undriven sensors in their own units, in mapped order; null or 0 is unknown. */
  pushWheels(tS: number, readings: readonly (number | null)[]): void;
  /** The speed at a time not before the last reading, or null when unknown. */
  at(tS: number): GroundSpeed | null;
}

/** State [speed, acceleration, receiver error] and the upper triangle of its covariance. */
interface State {
  readonly tS: number;
  readonly x: readonly [number, number, number];
  /** vv, va, vb, aa, ab, bb. */
  readonly p: readonly [number, number, number, number, number, number];
}

/** A receiver's speed, or each undriven wheel's reading; NaN where it was silent or clearly wrong. */
interface Reading {
  readonly tS: number;
  readonly mps: readonly number[];
  readonly sigmaMps: readonly number[];
  readonly receiver: boolean;
}

/** The state `from`, predicted to a later time. */
function advanced(from: State, toS: number, noise: Calibration["receiverNoise"]): State {
  const dt = toS - from.tS;
  if (dt <= 0) return from;
  const [v, a, b] = from.x;
  const [vv, va, vb, aa, ab, bb] = from.p;
  const q = JERK_DENSITY ** 2;
  const keep = noise.correlationS > 0 ? Math.exp(-dt / noise.correlationS) : 0;
  const errorVariance = noise.correlatedMps ** 2;
  return {
    tS: toS,
    x: [v + a * dt, a, b * keep],
    p: [
      vv + dt * (2 * va + dt * aa) + (q * dt ** 3) / 3,
      va + dt * aa + (q * dt ** 2) / 2,
      keep * (vb + dt * ab),
      aa + q * dt,
      keep * ab,
      keep * keep * bb + (1 - keep * keep) * errorVariance,
    ],
  };
}

/** The state `before`, corrected by a measurement. `h` is 1 where it includes the receiver's own error, 0 for wheels. */
function corrected(before: State, said: { readonly mps: number; readonly sigmaMps: number }, h: 0 | 1): State {
  const [vv, va, vb, aa, ab, bb] = before.p;
  const [cv, ca, cb] = [vv + h * vb, va + h * ab, vb + h * bb];
  const innovation = cv + h * cb + said.sigmaMps ** 2;
  const miss = said.mps - before.x[0] - h * before.x[2];
  const [kv, ka, kb] = [cv / innovation, ca / innovation, cb / innovation];
  return {
    tS: before.tS,
    x: [before.x[0] + kv * miss, before.x[1] + ka * miss, before.x[2] + kb * miss],
    p: [vv - kv * cv, va - kv * ca, vb - kv * cb, aa - ka * ca, ab - ka * cb, bb - kb * cb],
  };
}

/** Builds the filter for one calibration: its noise, delay, sensor scales and threshold. */
export function createGroundSpeedFilter(calibration: Calibration): GroundSpeedFilter {
  const { receiverNoise: noise, gnssDelayS, undrivenScales, undrivenThresholdMps } = calibration;
  let history: { reading: Reading; after: State }[] = [];
  let state: State | null = null;
  let receiverS = Number.NEGATIVE_INFINITY;
  let wheels: WheelsState = "silent";
  const trust = createWheelTrust();

  const advance = (from: State, toS: number) => advanced(from, toS, noise);

  function correct(from: State, reading: Reading): State {
    const before = advance(from, reading.tS);
    const said = reading.receiver ? { mps: reading.mps[0], sigmaMps: reading.sigmaMps[0] } : trust.mean(reading);
    return said === null ? before : corrected(before, said, reading.receiver ? 1 : 0);
  }

  function take(reading: Reading): void {
    const later: Reading[] = [];
    while (history.length > 0 && history[history.length - 1].reading.tS > reading.tS) {
      const undone = history.pop();
      if (undone !== undefined) later.unshift(undone.reading);
    }
    // An epoch older than everything remembered is applied at the oldest instant.
    let here = history.length > 0 ? history[history.length - 1].after : (state ?? begin(reading));
    if (history.length === 0 && later.length > 0) here = begin(reading);
    for (const each of [reading, ...later]) {
      here = correct(here, each);
      history.push({ reading: each, after: here });
    }
    state = here;
    const oldest = here.tS - HISTORY_S;
    if (history.length > HISTORY_MOST || history[0].reading.tS < oldest - HISTORY_S)
      history = history.filter((entry) => entry.reading.tS >= oldest);
  }

  function begin(reading: Reading): State {
    return { tS: reading.tS, x: [reading.mps[0], 0, 0], p: [25, 0, 0, 25, 0, noise.correlatedMps ** 2] };
  }

  /** Computes all that is remembered again: a wheel turned out to have been wrong for a while. */
  function replay(): void {
    const [oldest, ...rest] = history;
    if (oldest === undefined) return;
    let here = oldest.after;
    history = [oldest];
    for (const { reading } of rest) {
      here = correct(here, reading);
      history.push({ reading, after: here });
    }
    state = here;
  }

  const unknown = (toS: number) => state === null || Math.sqrt(advance(state, toS).p[0]) > WORST_SIGMA_MPS;

  return {
    pushEpoch(epochS, speedMps) {
      if (!Number.isFinite(speedMps)) return;
      const tS = epochS - gnssDelayS.value;
      if (unknown(tS)) {
        history = [];
        state = null;
      }
      receiverS = Math.max(receiverS, tS);
      const accelerationMps2 = state === null ? 0 : state.x[1];
      const lateMps = (accelerationMps2 * gnssDelayS.plusMinus95) / TWO_SIDED_95;
      const changed = trust.judge(history, tS, speedMps, Math.hypot(noise.whiteMps, noise.correlatedMps, lateMps));
      take({ tS, mps: [speedMps], sigmaMps: [Math.max(noise.whiteMps, 0.005)], receiver: true });
      if (changed) replay();
    },
    pushWheels(tS, readings) {
      if (state === null || tS - receiverS > RECEIVER_VOUCHES_S || tS < state.tS - HISTORY_S) return;
      const now = advance(state, tS);
      const all = readings.map(() => Number.NaN);
      const sigmas = readings.map(() => Number.NaN);
      let [low, high] = [0, 0];
      readings.forEach((reading, j) => {
        const scale = undrivenScales[j];
        if (reading === null || !Number.isFinite(reading) || scale === undefined) return;
        const mps = Math.abs(reading) * scale.value;
        if (reading === 0 || mps < undrivenThresholdMps) {
          // Near standing, a 0 is unknown. Far above it, a 0 means that the wheel does not turn.
          if (now.x[0] > undrivenThresholdMps + 2) low += 1;
          return;
        }
        const sigma = Math.hypot(WHEEL_NOISE_MPS, (mps * scale.plusMinus95) / (scale.value * TWO_SIDED_95));
        const gate = Math.max(GATE_LEAST_MPS, GATE_SIGMAS * Math.sqrt(Math.max(0, now.p[0]) + sigma ** 2));
        [all[j], sigmas[j]] = [mps, sigma];
        const standing = trust.of(j);
        if (standing === "locked" || (standing === "used" && mps - now.x[0] < -gate)) low += 1;
        else if (standing === "lifted" || mps - now.x[0] > gate) high += 1;
        else return;
        // Kept for comparison with the receiver, but not used.
        sigmas[j] = Number.NaN;
      });
      const reading: Reading = { tS, mps: all, sigmaMps: sigmas, receiver: false };
      wheels = sigmas.some(Number.isFinite) ? "used" : low > 0 ? "locked" : high > 0 ? "lifted" : "silent";
      if (all.some(Number.isFinite)) take(reading);
    },
    at(tS) {
      if (state === null || unknown(tS)) return null;
      const now = advance(state, tS);
      return { speedMps: Math.max(0, now.x[0]), sigmaMps: Math.sqrt(Math.max(0, now.p[0])), accelerationMps2: now.x[1], wheels };
    },
  };
}
