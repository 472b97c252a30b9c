/** The second car's receiver: epochs with lag, age, noise, jitter and holes, as arrival times and printed values. */
import type { Trace } from "./dynamics.ts";
import { at } from "./dynamics.ts";
import { createNoise, createRandom } from "./random.ts";
import type { Recipe } from "./recipe.ts";

const MPS_PER_KNOT = 1852 / 3600;
/** 2031-05-04 10:00:00 UTC. */
const DAY_MS = 1935655200000;
const EARTH_M = 6371000;

interface Epoch {
  /** First byte at the host, s of drive time, whole microseconds. */
  readonly arrivalS: number;
  readonly utcMs: number;
  /** Knots as printed. */
  readonly knots: number;
  readonly courseDeg: number;
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly altM: number;
}

export interface ReceiverOutput {
  readonly epochs: readonly Epoch[];
  /** Steady lag of the reported speed behind the car at its first byte, least case met, s of drive time. */
  readonly delayS: number;
  readonly stepMps: number;
}

/** Moves an arrival to the end of a stall it falls into. */
export function afterStalls(tS: number, stalls: Recipe["stalls"]): number {
  for (const [from, to] of stalls) if (tS >= from && tS < to) return to;
  return tS;
}

export const wholeMicros = (tS: number): number => Math.round(tS * 1e6) / 1e6;

function lagged(trace: Trace, lagS: number): Float64Array {
  const size = trace.speedMps.map(Math.abs);
  if (lagS <= 0) return size;
  const out = new Float64Array(size.length);
  const decay = Math.exp(-trace.stepS / lagS);
  // Exact for an input that runs straight between samples (first-order hold).
  const keep = (lagS / trace.stepS) * (1 - decay);
  for (let i = 1; i < size.length; i += 1) out[i] = decay * out[i - 1] + (1 - keep) * size[i] + (keep - decay) * size[i - 1];
  return out;
}

/** Receives the whole drive. */
export function receive(trace: Trace, recipe: Recipe): ReceiverOutput {
  const { receiver, stalls } = recipe;
  const random = createRandom(recipe.seed * 7919 + 11);
  const periodS = 1 / receiver.rateHz;
  const along = createNoise(random, receiver.whiteMps, receiver.correlatedMps, receiver.correlationS, periodS);
  const across = createNoise(random, receiver.whiteMps, receiver.correlatedMps, receiver.correlationS, periodS);
  const reported = lagged(trace, receiver.lagS);
  const heading = random.between(0, 360);
  const endS = (trace.length - 1) * trace.stepS;
  const firstS = 0.3 + random.next() * periodS;
  const firstTick = random.pick([0, 1, 2, 3]) + 400;
  const epochs: Epoch[] = [];
  let leastS = Number.POSITIVE_INFINITY;
  let last = 0;
  for (let k = 0; ; k += 1) {
    const stampS = firstS + k * periodS * (1 + receiver.clockPpm * 1e-6);
    if (stampS + 0.5 > endS) break;
    const [a, b] = [along(), across()];
    let jitter = random.exponential(receiver.jitterMeanS);
    if (random.chance(receiver.burstChance)) jitter += random.between(0.002, 0.016);
    if (random.chance(receiver.missingChance)) continue;
    const trueS = stampS - receiver.ageS;
    const speed = at(trace, reported, trueS);
    const raw = Math.hypot(speed + a, b);
    const shown = raw < receiver.holdBelowMps ? 0 : raw;
    const arrivalS = wholeMicros(Math.max(last + 1e-6, afterStalls(stampS + receiver.transportS + jitter, stalls)));
    last = arrivalS;
    leastS = Math.min(leastS, arrivalS - stampS + receiver.ageS + receiver.lagS);
    const place = at(trace, trace.placeM, trueS);
    const lat = -30 + ((place * Math.cos((heading * Math.PI) / 180)) / EARTH_M) * (180 / Math.PI);
    const lon = -20 + (((place * Math.sin((heading * Math.PI) / 180)) / EARTH_M) * (180 / Math.PI)) / Math.cos((lat * Math.PI) / 180);
    const wander = speed > 0.3 ? (Math.atan2(b, speed) * 180) / Math.PI : random.between(-180, 180);
    epochs.push({
      arrivalS,
      utcMs: DAY_MS + Math.round((firstTick + k * periodS) * 1000),
      knots: Math.round(shown / MPS_PER_KNOT / receiver.stepKnots) * receiver.stepKnots,
      courseDeg: shown === 0 ? Number.NaN : (heading + wander + 720) % 360,
      latDeg: lat,
      lonDeg: lon,
      altM: 12 + 0.2 * random.normal(),
    });
  }
  return { epochs, delayS: leastS, stepMps: receiver.stepKnots * MPS_PER_KNOT };
}
