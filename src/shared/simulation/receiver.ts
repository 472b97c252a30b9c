/**
 * The simulated receiver: measures late and with noise, and sends NMEA bytes as packets with their arrival, one a sentence. Refuses a line
 * speed that cannot carry its sentences.
 */
import type { CarState } from "./car-model.ts";
import type { HostClock } from "./host-clock.ts";
import { epochSentences } from "./nmea-text.ts";
import type { SimulatedPacket } from "./packets.ts";
import type { ReceiverPlan } from "./plan.ts";
import type { Random } from "./random.ts";

export interface Receiver {
  /** Once a millisecond, after the car's step; adds packets that arrive at or after `tMs`. */
  step(tMs: number, car: CarState, out: SimulatedPacket[]): void;
  /** Least time from having a reported speed to the arrival of its first byte, host seconds; null before the first epoch. */
  leastDelayS(): number | null;
}

const RING_MS = 1024;
// An invented place: open ocean near 30 S 20 W.
const ORIGIN_LAT_DEG = -30.0021;
const ORIGIN_LON_DEG = -20.0034;
// Below this speed receivers give no course, as it would be mostly noise.
const COURSE_FROM_MPS = 0.35;
const HELD_BELOW_MPS = 0.12;
// WGS 84 semi-major axis and first eccentricity squared (from memory); radii of curvature at the origin.
const AXIS_M = 6378137;
const E2 = 0.00669437999014;
const SIN2 = Math.sin((ORIGIN_LAT_DEG * Math.PI) / 180) ** 2;
const M_PER_LAT_DEG = ((AXIS_M * (1 - E2)) / (1 - E2 * SIN2) ** 1.5) * (Math.PI / 180);
const M_PER_LON_DEG = (AXIS_M / Math.sqrt(1 - E2 * SIN2)) * Math.cos((ORIGIN_LAT_DEG * Math.PI) / 180) * (Math.PI / 180);
const LAG_SHARE = 0.45;

/** First-order noise with standard deviation `sigma` and correlation time `tauS`, stepped by `dtS`. */
function createWander(random: Random, sigma: number, tauS: number, dtS: number): () => number {
  const keep = tauS > 0 ? Math.exp(-dtS / tauS) : 0;
  const push = sigma * Math.sqrt(1 - keep * keep);
  let value = sigma * random.normal();
  return () => {
    value = keep * value + push * random.normal();
    return value;
  };
}

/** `startUtcUs`: UTC of true time zero, whole microseconds. */
export function createReceiver({
  plan,
  random,
  host,
  startUtcUs,
}: {
  plan: ReceiverPlan;
  random: Random;
  host: HostClock;
  startUtcUs: number;
}): Receiver {
  const periodUs = 1e6 / plan.rateHz;
  const periodS = periodUs / 1e6;
  const lagS = LAG_SHARE * plan.delayS;
  const sendS = plan.delayS - lagS;
  const speed = new Float64Array(RING_MS);
  const heading = new Float64Array(RING_MS);
  const east = new Float64Array(RING_MS);
  const north = new Float64Array(RING_MS);
  const altitude = new Float64Array(RING_MS);
  const wander = [0, 1].map(() => createWander(random, plan.correlatedMps, plan.correlationS, periodS));
  const placeWander = [0.6, 0.6, 0.25].map((sigma) => createWander(random, sigma, 60, periodS));
  let nextUtcUs = Math.ceil((startUtcUs + 0.2e6) / periodUs) * periodUs;
  let lineFreeS = 0;
  let lastArrivalUs = 0;
  let leastDelayS: number | null = null;
  const at = (ring: Float64Array, tMs: number): number => {
    const whole = Math.floor(tMs);
    const a = ring[whole % RING_MS];
    return a + (tMs - whole) * (ring[(whole + 1) % RING_MS] - a);
  };

  function emit(epochS: number, out: SimulatedPacket[]): void {
    const measuredMs = (epochS - lagS) * 1e3;
    const trueMps = at(speed, measuredMs);
    const along = trueMps + plan.whiteMps * random.normal() + (wander[0] as () => number)();
    const across = plan.whiteMps * random.normal() + (wander[1] as () => number)();
    const [eastNoise, northNoise, upNoise] = placeWander.map((next) => next()) as [number, number, number];
    const fix = !plan.lostFix.some((span) => epochS >= span.atS && epochS < span.atS + span.seconds);
    const length = Math.hypot(along, across);
    const held = plan.atRest === "held" && length < HELD_BELOW_MPS;
    const courseRad = at(heading, measuredMs) + Math.atan2(across, along);
    const turn = ((((courseRad * 180) / Math.PI) % 360) + 360) % 360;
    const whole = nextUtcUs % 1e6 === 0;
    const sentences = epochSentences(
      {
        utcUs: nextUtcUs,
        timeDecimals: (periodUs / 1e4) % 1 === 0 ? 2 : 3,
        fix,
        latDeg: ORIGIN_LAT_DEG + (at(north, measuredMs) + northNoise) / M_PER_LAT_DEG,
        lonDeg: ORIGIN_LON_DEG + (at(east, measuredMs) + eastNoise) / M_PER_LON_DEG,
        altitudeM: 12.5 + at(altitude, measuredMs) + upNoise,
        speedMps: held ? 0 : length,
        courseDeg: fix && !held && length > COURSE_FROM_MPS ? turn % 359.995 : null,
        hdop: 0.68 + 0.02 * (Math.floor(epochS / 40) % 4),
        satellites: 15 + (Math.floor(epochS / 70) % 4),
      },
      { gsa: plan.gsa && whole, zda: plan.zda && whole },
    );
    let byteS = Math.max(lineFreeS, epochS + sendS - plan.jitterS * Math.log(1 - random.next()));
    for (const [i, text] of sentences.entries()) {
      const arrivalUs = Math.max(lastArrivalUs, host.arrivalUsAt(byteS));
      lastArrivalUs = arrivalUs;
      if (i === 0 && fix) {
        const delayS = arrivalUs / 1e6 - host.usAt(epochS - lagS) / 1e6;
        leastDelayS = leastDelayS === null ? delayS : Math.min(leastDelayS, delayS);
      }
      const bytes = new Uint8Array(text.length);
      for (let k = 0; k < text.length; k += 1) bytes[k] = text.charCodeAt(k);
      out.push({ stream: "gnss", arrivalUs, bytes });
      if (plan.baud > 0) byteS += (text.length * 10) / plan.baud;
    }
    lineFreeS = byteS;
  }

  return {
    step(tMs, car, out) {
      const slot = tMs % RING_MS;
      speed[slot] = car.speedMps;
      heading[slot] = car.headingRad;
      east[slot] = car.eastM;
      north[slot] = car.northM;
      altitude[slot] = car.altitudeM;
      const epochS = (nextUtcUs - startUtcUs) / 1e6;
      if (tMs / 1e3 < epochS) return;
      emit(epochS, out);
      nextUtcUs += periodUs;
    },
    leastDelayS: () => leastDelayS,
  };
}
