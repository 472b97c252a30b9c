/**
 * By how much one speed trace lies later than another, from where they correlate best. Where they agree as they stand nothing is searched. Null
 * where there is too little driving to tell.
 */
import { correlate, slopeOf } from "../signals/trace-statistics.ts";

export interface SpeedShift {
  /** Seconds by which `late` lies later than `early`. */
  readonly lateByS: number;
  /** Correlation there, and with nothing shifted. */
  readonly best: number;
  readonly asIs: number;
}

const COARSE_S = 0.5;
/** Speeds of one car correlate this well wherever its wheels do not spin for most of the drive. */
const AGREES = 0.97;
const LEAST_MOVING_S = 20;
const MOVING_MPS = 3;
/** Share of the shorter drive that must still overlap at a shift. */
const LEAST_OVERLAP = 0.3;
/** Where the car gains speed faster its driven wheels may spin: they run ahead of it, which would look like an earlier speed. */
const GENTLE_MPS2 = 2;
const SLOPE_S = 0.25;
/** A shift counts where it explains at least this share of what gentle driving does not correlate as it stands; less is scatter between shifts. */
const EXPLAINED = 0.5;

/** Both on one grid of `stepS`, NaN where unknown. */
export function speedShift(early: Float64Array, late: Float64Array, stepS: number): SpeedShift | null {
  const movingS = (trace: Float64Array) => trace.reduce((sum, v) => sum + (v > MOVING_MPS ? stepS : 0), 0);
  if (movingS(early) < LEAST_MOVING_S || movingS(late) < LEAST_MOVING_S) return null;
  const asIs = correlate(early, late).r;
  if (asIs > AGREES) return { lateByS: 0, best: asIs, asIs };
  const stride = Math.round(COARSE_S / stepS);
  const slope = slopeOf(late, Math.round(SLOPE_S / stepS), stepS);
  const gentle = late.map((v, i) => (Math.abs(slope[i]) < GENTLE_MPS2 ? v : Number.NaN));
  const [a, b] = [thinned(early, stride), thinned(gentle, stride)];
  const least = LEAST_OVERLAP * Math.min(known(a), known(b));
  const reach = Math.floor(a.length - least);
  const coarse = bestShift(a, b, -reach, reach, least);
  if (coarse === null) return null;
  const fine = bestShift(early, gentle, (coarse.shift - 1) * stride, (coarse.shift + 1) * stride, least * stride);
  if (fine === null) return null;
  const told = Number.isNaN(asIs) ? 0 : asIs;
  // Unshifted, the two are compared where no wheel spins, as at every shift; NaN, and so no bar, where they do not overlap.
  const unshifted = correlate(early, gentle).r;
  if (1 - fine.r > (1 - EXPLAINED) * (1 - unshifted)) return { lateByS: 0, best: Math.max(unshifted, fine.r), asIs: told };
  return { lateByS: fine.shift * stepS, best: fine.r, asIs: told };
}

const known = (trace: Float64Array) => trace.reduce((sum, v) => sum + (Number.isNaN(v) ? 0 : 1), 0);

/** Means over `stride` steps; NaN where none is known. */
function thinned(trace: Float64Array, stride: number): Float64Array {
  return Float64Array.from({ length: Math.floor(trace.length / stride) }, (_, k) => {
    let [sum, n] = [0, 0];
    for (let i = k * stride; i < (k + 1) * stride; i++) {
      if (Number.isNaN(trace[i])) continue;
      sum += trace[i];
      n += 1;
    }
    return n === 0 ? Number.NaN : sum / n;
  });
}

function bestShift(a: Float64Array, b: Float64Array, from: number, to: number, leastPairs: number): { shift: number; r: number } | null {
  let best: { shift: number; r: number } | null = null;
  for (let shift = from; shift <= to; shift++) {
    const r = pairs(a, b, shift) < leastPairs ? Number.NaN : correlate(a, b, shift).r;
    if (best === null ? !Number.isNaN(r) : r > best.r) best = { shift, r };
  }
  return best;
}

/** How many steps the two share at a shift, holes left in: cheap, and enough to leave out ends that hardly overlap. */
const pairs = (a: Float64Array, b: Float64Array, shift: number) => Math.min(a.length, b.length - shift) - Math.max(0, -shift);
