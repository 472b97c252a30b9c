/**
 * Fits a device's clock to the host's by the lower envelope of arrival delay: data can be late, never early. Stalls and bursts lie above
 * the envelope and so do not move it. A single stamp far below all others is impossible; it is left out and counted. With too few stamps
 * the line has the host's own rate.
 */
import { median, quantile } from "../kernel/statistics.ts";

/** Crystals of adapters and receivers stay well within this; a steeper envelope is a stall at one end. */
const MAX_DRIFT = 300e-6;
/** Crystals drift with temperature: one straight line covers this long at most, then another is joined to it. */
const SPAN_MS = 600_000;
/** A point whose removal lifts the whole envelope by this much is a single wrong stamp. */
const LONER_MS = 20;
const MAX_LONERS = 8;

/** One clock segment: device ms to base seconds, straight between knots. */
interface SegmentMap {
  readonly knotMs: readonly number[];
  readonly knotS: readonly number[];
  /** Base seconds per device ms at each knot. */
  readonly slopeSPerMs: readonly number[];
}

export interface ClockFit {
  /** Base seconds of a device time; NaN in a segment that had no observation. */
  toBaseS(deviceMs: number, segment: number): number;
  readonly driftPpm: number;
  /** Standard deviation of one mapped time, from the stamps' step and the envelope's own uncertainty, s. */
  readonly sigmaS: number;
  /** The part of it that all times share, s. */
  readonly envelopeSigmaS: number;
  readonly medianDelayS: number;
  readonly worstDelayS: number;
  readonly segments: number;
  /** Stamps left out because they were impossibly early. */
  readonly loners: number;
}

/**
 * Fits every segment. `deviceMs` must be finite; order does not matter. `stepMs` is the stamps' step. A stamp counts as the middle of its
 * step, while the envelope finds its beginning. Throws RangeError on an empty input.
 */
export function fitClock(deviceMs: ArrayLike<number>, arrivalNs: ArrayLike<number>, segment: ArrayLike<number>, stepMs: number): ClockFit {
  if (deviceMs.length === 0) throw new RangeError("Expected at least one stamp to fit a clock to, got none");
  const members = new Map<number, number[]>();
  for (let i = 0; i < deviceMs.length; i++) {
    const list = members.get(segment[i]);
    if (list === undefined) members.set(segment[i], [i]);
    else list.push(i);
  }
  const maps = new Map<number, SegmentMap>();
  const delaysS: number[] = [];
  let loners = 0;
  let driftPpm = 0;
  let longestMs = -1;
  let envelopeVariance = 0;
  for (const [id, list] of members) {
    // Stamps nearly always come in order; then no sort is needed.
    if (list.some((at, k) => k > 0 && deviceMs[at] < deviceMs[list[k - 1]])) list.sort((a, b) => deviceMs[a] - deviceMs[b]);
    const x = Float64Array.from(list, (i) => deviceMs[i]);
    const y = Float64Array.from(list, (i) => arrivalNs[i] / 1e6);
    const fitted = fitSegment(x, y, stepMs);
    maps.set(id, fitted.map);
    loners += fitted.loners;
    const spanMs = x[x.length - 1] - x[0];
    if (spanMs > longestMs) {
      longestMs = spanMs;
      driftPpm = fitted.drift * 1e6;
      envelopeVariance = fitted.envelopeSigmaMs ** 2;
    }
    for (let i = 0; i < x.length; i++) delaysS.push(Math.max(0, y[i] / 1e3 - mapTime(fitted.map, x[i] - stepMs / 2)));
  }
  return {
    toBaseS: (ms, id) => {
      const map = maps.get(id);
      return map === undefined ? Number.NaN : mapTime(map, ms);
    },
    driftPpm,
    sigmaS: Math.sqrt(envelopeVariance + stepMs ** 2 / 12) / 1e3,
    envelopeSigmaS: Math.sqrt(envelopeVariance) / 1e3,
    medianDelayS: median(delaysS),
    worstDelayS: quantile(delaysS, 1),
    segments: maps.size,
    loners,
  };
}

/** Step of whole-millisecond stamps: their greatest common divisor. 0 where they have fractions, 1 where there are too few. */
export function stampStepMs(deviceMs: ArrayLike<number>): number {
  let step = 0;
  for (let i = 1; i < deviceMs.length && step !== 1; i++) {
    let a = Math.abs(deviceMs[i] - deviceMs[0]);
    if (!Number.isInteger(deviceMs[i])) return 0;
    while (a > 0) [step, a] = [a, step % a];
  }
  return deviceMs.length < 20 || step > 20 ? 1 : step;
}

function mapTime(map: SegmentMap, ms: number): number {
  const { knotMs, knotS, slopeSPerMs } = map;
  let k = 0;
  while (k + 1 < knotMs.length && ms > knotMs[k + 1]) k += 1;
  if (k + 1 < knotMs.length && ms > knotMs[0]) {
    const share = (ms - knotMs[k]) / (knotMs[k + 1] - knotMs[k]);
    return knotS[k] + share * (knotS[k + 1] - knotS[k]);
  }
  return knotS[k] + (ms - knotMs[k]) * slopeSPerMs[k];
}

function fitSegment(
  x: Float64Array,
  y: Float64Array,
  stepMs: number,
): { map: SegmentMap; drift: number; envelopeSigmaMs: number; loners: number } {
  const spanMs = x[x.length - 1] - x[0];
  const pieces = Math.max(1, Math.round(spanMs / SPAN_MS));
  const knotMs: number[] = [];
  const knotS: number[] = [];
  const slopeSPerMs: number[] = [];
  let loners = 0;
  let worstSigmaMs = 0;
  let from = 0;
  for (let piece = 0; piece < pieces; piece++) {
    const endMs = piece === pieces - 1 ? Infinity : x[0] + ((piece + 1) * spanMs) / pieces;
    let to = from;
    while (to < x.length && x[to] <= endMs) to += 1;
    if (to - from >= 2 || knotMs.length === 0) {
      const line = fitLine(x.subarray(from, Math.max(to, from + 1)), y.subarray(from, Math.max(to, from + 1)));
      loners += line.loners;
      worstSigmaMs = Math.max(worstSigmaMs, line.sigmaMs);
      knotMs.push(line.centreMs);
      // The envelope passes through the freshest stamps; the average frame is half a step older.
      knotS.push((line.atCentreMs + stepMs / 2) / 1e3);
      slopeSPerMs.push((1 + line.drift) / 1e3);
    }
    from = to;
  }
  const drift = slopeSPerMs.reduce((sum, slope) => sum + slope, 0) / slopeSPerMs.length - 1e-3;
  return { map: { knotMs, knotS, slopeSPerMs }, drift: drift * 1e3, envelopeSigmaMs: worstSigmaMs, loners };
}

interface EnvelopeLine {
  readonly centreMs: number;
  readonly atCentreMs: number;
  readonly drift: number;
  readonly sigmaMs: number;
  readonly loners: number;
}

/** The line below all points with the least total delay: the edge of the lower convex hull that spans the mean of x. */
function fitLine(allX: Float64Array, allY: Float64Array): EnvelopeLine {
  let keep = Array.from(allX, (_, i) => i);
  let loners = 0;
  let line = hullLine(allX, allY, keep);
  while (loners < MAX_LONERS && keep.length > 10) {
    const rest = keep.filter((i) => !line.touching.includes(i));
    const without = hullLine(allX, allY, rest);
    if (without.at(line.centreMs) - line.at(line.centreMs) < LONER_MS) break;
    loners += keep.length - rest.length;
    keep = rest;
    line = without;
  }
  // The envelope's uncertainty: the spacing of the lowest few points above it.
  const above = keep.map((i) => allY[i] - line.at(allX[i])).sort((a, b) => a - b);
  const sigmaMs = above.length > 4 ? above[4] / 2 : 1;
  return { centreMs: line.centreMs, atCentreMs: line.at(line.centreMs), drift: line.drift, sigmaMs, loners };
}

function hullLine(
  x: Float64Array,
  y: Float64Array,
  keep: readonly number[],
): { centreMs: number; drift: number; touching: number[]; at: (ms: number) => number } {
  let centreMs = 0;
  for (const i of keep) centreMs += x[i] / keep.length;
  const delay = (i: number) => y[i] - x[i];
  const hull: number[] = [];
  for (const i of keep) {
    if (hull.length > 0 && x[hull[hull.length - 1]] === x[i]) {
      if (delay(i) >= delay(hull[hull.length - 1])) continue;
      hull.pop();
    }
    while (hull.length >= 2) {
      const [a, b] = [hull[hull.length - 2], hull[hull.length - 1]];
      if ((delay(b) - delay(a)) * (x[i] - x[a]) < (delay(i) - delay(a)) * (x[b] - x[a])) break;
      hull.pop();
    }
    hull.push(i);
  }
  let edge = 0;
  while (edge + 2 < hull.length && x[hull[edge + 1]] < centreMs) edge += 1;
  const [a, b] = [hull[edge], hull[Math.min(edge + 1, hull.length - 1)]];
  const steep = a === b ? 0 : (delay(b) - delay(a)) / (x[b] - x[a]);
  const drift = Math.max(-MAX_DRIFT, Math.min(MAX_DRIFT, steep));
  let lowest = Infinity;
  let lowestAt = a;
  for (const i of hull) {
    const height = delay(i) - drift * (x[i] - centreMs);
    if (height < lowest) [lowest, lowestAt] = [height, i];
  }
  return { centreMs, drift, touching: drift === steep ? [a, b] : [lowestAt], at: (ms) => ms + lowest + drift * (ms - centreMs) };
}
