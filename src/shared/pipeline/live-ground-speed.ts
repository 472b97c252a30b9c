/**
 * Causal ground speed for the screen: a speed-and-acceleration Kalman filter over receiver epochs (which describe a
 * past instant) and undriven wheels. Says null when it no longer knows; never the driven wheels, never the last value.
 */

/** How fast acceleration may change, m/s3 per root Hz: a launch builds 6 m/s2 in about 0.3 s. */
const JERK_DENSITY = 12;
const RECEIVER_SIGMA_MPS = 0.06;
const WHEEL_SIGMA_MPS = 0.05;
/** Undriven wheels this far from what the receiver says are locked, lifted or wrong. */
const WHEEL_TRUST_MPS = 1.5;
/** Beyond this sigma, or this long without any source, the speed is unknown. */
const WORST_SIGMA_MPS = 1;
const BRIDGE_S = 1.5;
/** A receiver silent for this long no longer vouches for the wheels. */
const RECEIVER_FRESH_S = 3;

export interface LiveSpeed {
  readonly speedMps: number;
  readonly sigmaMps: number;
  readonly accelerationMps2: number;
}

export interface LiveGroundSpeed {
  /** A receiver speed that the car had at `tS`, already freed of the receiver's delay. */
  pushReceiver(tS: number, speedMps: number): void;
  /** Mean of the undriven wheels at `tS`; do not call with a sensor's 0. */
  pushWheels(tS: number, speedMps: number): void;
  /** The speed at `tS`, or null when unknown. */
  at(tS: number): LiveSpeed | null;
}

export function createLiveGroundSpeed(): LiveGroundSpeed {
  let started = false;
  let tS = 0;
  let v = 0;
  let a = 0;
  let pvv = 1;
  let pva = 0;
  let paa = 25;
  let receiverS = Number.NEGATIVE_INFINITY;
  let heardS = Number.NEGATIVE_INFINITY;

  function advance(toS: number): void {
    const dt = toS - tS;
    if (dt <= 0) return;
    tS = toS;
    v += a * dt;
    pvv += dt * (2 * pva + dt * paa) + (JERK_DENSITY ** 2 * dt ** 3) / 3;
    pva += dt * paa + (JERK_DENSITY ** 2 * dt ** 2) / 2;
    paa += JERK_DENSITY ** 2 * dt;
  }

  /** A measurement of v - lag * a: lag 0 is now, otherwise `lag` seconds ago. */
  function correct(measuredMps: number, lagS: number, sigmaMps: number): void {
    const hv = pvv - lagS * pva;
    const ha = pva - lagS * paa;
    const gain = hv - lagS * ha + sigmaMps ** 2;
    const kv = hv / gain;
    const ka = ha / gain;
    const miss = measuredMps - (v - lagS * a);
    v += kv * miss;
    a += ka * miss;
    pvv -= kv * hv;
    pva -= kv * ha;
    paa -= ka * ha;
  }

  function begin(atS: number, speedMps: number): void {
    started = true;
    tS = atS;
    v = speedMps;
    a = 0;
    pvv = 1;
    pva = 0;
    paa = 25;
  }

  return {
    pushReceiver(atS, speedMps) {
      if (!started || atS - heardS > BRIDGE_S) begin(Math.max(atS, tS), speedMps);
      receiverS = Math.max(receiverS, atS);
      heardS = Math.max(heardS, atS);
      advance(atS);
      correct(speedMps, Math.max(0, tS - atS), RECEIVER_SIGMA_MPS);
    },
    pushWheels(atS, speedMps) {
      if (!started || atS - receiverS > RECEIVER_FRESH_S) return;
      advance(atS);
      if (Math.abs(speedMps - v) > WHEEL_TRUST_MPS + 3 * Math.sqrt(pvv)) return;
      heardS = Math.max(heardS, atS);
      correct(speedMps, Math.max(0, tS - atS), WHEEL_SIGMA_MPS);
    },
    at(atS) {
      if (!started || atS - heardS > BRIDGE_S) return null;
      advance(atS);
      const sigmaMps = Math.sqrt(pvv);
      return sigmaMps > WORST_SIGMA_MPS ? null : { speedMps: Math.max(0, v), sigmaMps, accelerationMps2: a };
    },
  };
}
