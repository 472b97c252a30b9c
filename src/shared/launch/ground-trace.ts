/**
 * Receiver speed at the instants when the car had it (delay removed, unknown epochs left out), and whether it shows standing or hard
 * acceleration. Coarse: only for finding launches. The noise is the calibration's, or the noise measured at rest where that is larger.
 */
import { median } from "../kernel/statistics.ts";
import type { AlignedRecording } from "../align/aligned-recording.ts";
import type { Calibration, ReceiverNoise } from "../align/calibration.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import { indexAtOrBefore } from "../align/timed-lookup.ts";

/** Columns of one length. `restLevelMps` is the speed above zero that the noise of a standing receiver may show. */
export interface GroundTrace {
  readonly t: ArrayLike<number>;
  readonly v: ArrayLike<number>;
  /** Noise of one component of the velocity. */
  readonly noise: ReceiverNoise;
  readonly noiseMps: number;
  readonly restLevelMps: number;
}

export const STAND_MPS = 0.5 * MPS_PER_KMH;
const STAND_FOR_S = 1;
/** docs/design.md: a launch without a pedal is over 2.5 m/s2 for half a second. */
const HARD_MPS2 = 2.5;
/** Windows over which a mean acceleration is taken: over a longer window noise matters less. */
const HARD_OVER_S = [0.5, 1, 1.5] as const;
/** Two sigma over the limit: a gentle drive-off of 1.5 m/s2 then stays five sigma below it at 0.1 m/s of noise. */
const HARD_SIGMAS = 2;
/** A speed above this is not noise at rest, and no receiver is taken to be noisier than this. */
const REST_MOST_MPS = 0.75;
const WORST_NOISE_MPS = 0.12;
const FEWEST_WINDOWS = 5;

const sigmaOf = ({ correlatedMps, whiteMps }: ReceiverNoise) => Math.hypot(correlatedMps, whiteMps);

/** A trace over given columns. Its noise is the calibration's, or more where `restSquares` (see restSquareAt) show more. */
export function traceOf(t: ArrayLike<number>, v: ArrayLike<number>, assumed: ReceiverNoise, restSquares: Iterable<number>): GroundTrace {
  const squares = [...restSquares];
  const seen = squares.length < FEWEST_WINDOWS ? 0 : Math.min(WORST_NOISE_MPS, Math.sqrt(median(squares) / 2));
  const noiseMps = Math.max(seen, sigmaOf(assumed));
  const more = noiseMps / sigmaOf(assumed);
  const noise = { ...assumed, correlatedMps: more * assumed.correlatedMps, whiteMps: more * assumed.whiteMps };
  return { t, v, noise, noiseMps, restLevelMps: 2.5 * noiseMps };
}

type RecordedTrace = GroundTrace & { readonly t: Float64Array; readonly v: Float64Array };

/**
 * Every launch of a recording asks for the same trace. Building it for each would make a day's work grow with the square of its launches.
 */
const traces = new WeakMap<AlignedRecording, { readonly calibration: Calibration; readonly trace: RecordedTrace }>();

export function groundTrace(recording: AlignedRecording, calibration: Calibration): RecordedTrace {
  const known = traces.get(recording);
  if (known?.calibration === calibration) return known.trace;
  const trace = buildTrace(recording, calibration);
  traces.set(recording, { calibration, trace });
  return trace;
}

function buildTrace(recording: AlignedRecording, calibration: Calibration): RecordedTrace {
  const { tS, speedMps } = recording.epochs;
  const t: number[] = [];
  const v: number[] = [];
  for (let i = 0; i < tS.length; i++) {
    if (!Number.isFinite(speedMps[i]) || !Number.isFinite(tS[i])) continue;
    const at = tS[i] - calibration.gnssDelayS.value;
    if (t.length > 0 && at <= t[t.length - 1]) continue;
    t.push(at);
    v.push(speedMps[i]);
  }
  const squares = t.map((_, k) => restSquareAt(t, v, k)).filter(Number.isFinite);
  const columns = { t: Float64Array.from(t), v: Float64Array.from(v) };
  return { ...traceOf(columns.t, columns.v, calibration.receiverNoise, squares), ...columns };
}

/** First epoch of the second that ends with epoch k; -1 where the epochs do not cover a second. */
function secondBefore(t: ArrayLike<number>, k: number): number {
  const from = indexAtOrBefore(t, t[k] - STAND_FOR_S - 1e-6) + 1;
  return t[k] - t[from] < 0.7 * STAND_FOR_S ? -1 : from;
}

/**
 * Mean square of the speed in the second before epoch k, where the car may be at rest; NaN elsewhere. A held 0 shows no noise and does not
 * count.
 */
export function restSquareAt(t: ArrayLike<number>, v: ArrayLike<number>, k: number): number {
  const from = secondBefore(t, k);
  if (from < 0) return Number.NaN;
  let square = 0;
  for (let i = from; i <= k; i++) {
    if (v[i] === 0 || v[i] > REST_MOST_MPS) return Number.NaN;
    square += v[i] ** 2;
  }
  return square / (k - from + 1);
}

/** Covariance between the noise of two epochs. */
const covariance = ({ correlatedMps, correlationS, whiteMps }: ReceiverNoise, same: boolean, apartS: number) =>
  (same ? whiteMps ** 2 : 0) + (correlationS > 0 ? correlatedMps ** 2 * Math.exp(-apartS / correlationS) : same ? correlatedMps ** 2 : 0);

/**
 * True where the true speed in the second before epoch k was under 0.5 km/h. A speed measured at rest is the length of a vector with noise
 * in both components, so its mean square holds twice the variance of one; this is subtracted. The variance of the mean of squares is 4 / n2
 * times the sum of squared covariances (Isserlis' theorem, both components).
 */
export function isStandingAt({ t, v, noise, noiseMps }: GroundTrace, k: number): boolean {
  const from = secondBefore(t, k);
  if (from < 0) return false;
  let square = 0;
  let spread = 0;
  for (let i = from; i <= k; i++) {
    if (v[i] > STAND_MPS + 4 * noiseMps) return false;
    square += v[i] ** 2;
    for (let j = from; j <= k; j++) spread += covariance(noise, i === j, Math.abs(t[i] - t[j])) ** 2;
  }
  const n = k - from + 1;
  return square / n - 2 * noiseMps ** 2 < Math.max(STAND_MPS ** 2, (4 * Math.sqrt(spread)) / n);
}

/** True where the car surely accelerated by more than 2.5 m/s2 from epoch i to epoch j: the least squares slope less two of its sigma. */
function isHardOver({ t, v, noise }: GroundTrace, i: number, j: number): boolean {
  let middle = 0;
  for (let a = i; a <= j; a++) middle += t[a] / (j - i + 1);
  let moment = 0;
  let slope = 0;
  let variance = 0;
  for (let a = i; a <= j; a++) {
    const lever = t[a] - middle;
    moment += lever ** 2;
    slope += lever * v[a];
    for (let b = i; b <= j; b++) variance += lever * (t[b] - middle) * covariance(noise, a === b, Math.abs(t[a] - t[b]));
  }
  return (slope - HARD_SIGMAS * Math.sqrt(variance)) / moment > HARD_MPS2;
}

// A receiver with steps longer than the window shows less than asked for, and a gap shows nothing.
const covers = (spanS: number, overS: number) => spanS >= overS - 1e-3 && spanS <= overS + 0.5;

/** True where the half second (or longer) that begins at epoch i was surely hard acceleration. */
export function isHardFrom(trace: GroundTrace, i: number): boolean {
  const { t } = trace;
  return HARD_OVER_S.some((overS) => {
    let j = i + 1;
    while (j < t.length - 1 && t[j] - t[i] < overS - 1e-3) j++;
    return j < t.length && covers(t[j] - t[i], overS) && isHardOver(trace, i, j);
  });
}

/** True where the half second (or longer) that ends at epoch j was surely hard acceleration. */
export function isHardUntil(trace: GroundTrace, j: number): boolean {
  const { t } = trace;
  return HARD_OVER_S.some((overS) => {
    let i = j - 1;
    while (i > 0 && t[j] - t[i] < overS - 1e-3) i--;
    return i >= 0 && covers(t[j] - t[i], overS) && isHardOver(trace, i, j);
  });
}
