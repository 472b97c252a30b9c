/**
 * Quickest and losses of a group of runs at one gate: the means of its runs, with what the fit, the tyre and the measurement leave open. Where the
 * peak of the grip curve was not reached, what was lost at least is told instead. A gate or a run that has none says why.
 */
import { quantile, TWO_SIDED_95 } from "../kernel/statistics.ts";
import { KMH_PER_MPS } from "../kernel/units.ts";
import type { Gate } from "../launch/gate.ts";
import { MOVEMENT_MPS } from "../launch/gate-times.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { Figure } from "./figure.ts";
import type { FittedCar } from "./fitted-car.ts";
import type { GripCurve } from "./grip-curve.ts";
import { knownTyre } from "./known-tyre.ts";
import { BAND_KMH, beyondSeen, count, type RunLosses, spread, type Timed, worldOf } from "./loss-count.ts";
import { LOSS_CAUSES, type LossCause, type LossSums } from "./losses.ts";
import { gateOf, type TuneRun } from "./tune-run.ts";

export interface CauseLoss extends LossLike {
  readonly cause: LossCause;
}

interface LossLike {
  readonly seconds: number;
  /** Half width of the 95 % interval. */
  readonly plusMinus95: number;
}

export interface SpeedBand {
  readonly fromKmh: number;
  readonly toKmh: number;
  readonly losses: readonly CauseLoss[];
}

/** What was lost against the most friction that was seen: the tyre may have more. */
interface LeastLosses {
  readonly quickestAtMost: number;
  readonly losses: readonly CauseLoss[];
  readonly bands: readonly SpeedBand[];
}

export interface GroupLosses {
  readonly label: string;
  readonly runs: readonly number[];
  readonly gate: string;
  readonly start: StartName;
  /** Mean of the runs; null where none has a time. */
  readonly seconds: number | null;
  readonly quickest: Figure | null;
  /** Why there is no quickest; null where there is. */
  readonly why: string | null;
  /** Empty where there is no quickest. */
  readonly losses: readonly CauseLoss[];
  /** Along the speed axis, 20 km/h each. */
  readonly bands: readonly SpeedBand[];
  /** Instead, where the peak was not reached; null elsewhere. */
  readonly atLeast: LeastLosses | null;
  readonly each: readonly RunLosses[];
}

export interface LossQuestion {
  readonly label: string;
  /** Runs of one group, in the order driven. */
  readonly runs: readonly TuneRun[];
  readonly gate: Gate;
  readonly start: StartName;
  readonly car: FittedCar;
  readonly curves: readonly GripCurve[];
}

/** Delivered within this of asked is what was asked; more is held back, or late. */
const GIVEN_WITHIN = 0.04;
const LEAST_GIVEN_ROWS = 30;
const STEADY_ROWS = 3;
const STEADY_WITHIN = 0.01;
/** A cause begins and ends between two samples of 10 ms. */
const STEP_SIGMA_S = 0.004;

export const curveFor = (curves: readonly GripCurve[], { surface }: Pick<TuneRun, "surface">) =>
  curves.find((curve) => curve.surface === surface);

function speedsOf(gate: Gate, start: StartName): { fromMps: number; toMps: number } | string {
  if (gate.kind === "standing")
    return start === "movement" ? { fromMps: MOVEMENT_MPS, toMps: gate.toMps } : `Losses are counted from movement, not from ${start}`;
  if (gate.kind === "rolling") return { fromMps: gate.fromMps, toMps: gate.toMps };
  return `Losses are counted from speed to speed, and ${gate.name} is no such gate: name one such as 0-60 mph`;
}

function meanSigma(run: TuneRun): number {
  const { slipSigma } = run.samples;
  let [sum, count] = [0, 0];
  for (let row = run.startIndex; row < run.endIndex; row += 1) {
    const sigma = slipSigma[row];
    if (!Number.isFinite(sigma)) continue;
    sum += sigma;
    count += 1;
  }
  return count === 0 ? 0 : sum / count;
}

/** Where a run's own grip was not told it is the curve's. */
function gripOf({ id }: TuneRun, { runGrip }: GripCurve): Timed["grip"] {
  const own = runGrip.find((one) => one.run === id)?.ratio;
  return own === undefined ? { value: 1, sigma: 0 } : { value: own.value, sigma: own.plusMinus95 / TWO_SIDED_95 };
}

function timed(run: TuneRun, { gate, start, curves }: LossQuestion, speeds: { fromMps: number; toMps: number }): Timed | null {
  const result = gateOf(run, gate.name, start);
  const curve = curveFor(curves, run);
  if (result === undefined || result.seconds === null || result.plusMinus95 === null || result.atS === null || curve === undefined)
    return null;
  const { samples } = run;
  const unknown = new Float64Array(samples.tS.length).fill(Number.NaN);
  return {
    run,
    seconds: result.seconds,
    plusMinus95: result.plusMinus95,
    curve,
    slipSigma: meanSigma(run),
    grip: gripOf(run, curve),
    loss: {
      tS: samples.tS,
      groundSpeedMps: samples.groundSpeedMps,
      slipSpeedMps: samples.slipSpeedMps,
      askedNm: samples.askedNm ?? unknown,
      deliveredNm: samples.deliveredNm ?? unknown,
      from: { atS: result.atS - result.seconds, speedMps: speeds.fromMps },
      to: { atS: result.atS, speedMps: speeds.toMps },
    },
  };
}

/**
 * Force for each newton metre that is asked: full torque and power are told in what was asked, force in what was delivered, and an inverter's own
 * estimate of that is a per cent or two off. Unchanged where no run gave what was asked.
 */
function perAskedNm(car: FittedCar, fullNm: number, runs: readonly TuneRun[]): FittedCar {
  const shares: number[] = [];
  // A command is what was let through; without it torque that is held back a little makes the middle too low.
  const commanded = runs.some(({ samples }) => samples.commandNm !== null);
  for (const { samples, startIndex, endIndex } of runs) {
    const { commandNm, askedNm, deliveredNm } = samples;
    const wanted = commanded ? commandNm : askedNm;
    if (wanted === null || deliveredNm === null) continue;
    for (let row = startIndex + STEADY_ROWS; row < endIndex; row += 1) {
      const nm = wanted[row] as number;
      const steady = Math.abs(nm - (wanted[row - STEADY_ROWS] as number)) < STEADY_WITHIN * nm;
      const share = (deliveredNm[row] as number) / nm;
      if (steady && nm > 0.3 * fullNm && Math.abs(share - 1) < GIVEN_WITHIN) shares.push(share);
    }
  }
  if (shares.length < LEAST_GIVEN_ROWS) return car;
  return { ...car, newtonPerNm: { ...car.newtonPerNm, value: car.newtonPerNm.value * quantile(shares, commanded ? 0.5 : 0.75) } };
}

/** Times are measured run by run; what that leaves open falls on every cause alike, as nobody knows where it lies. */
const timingVariance = (runs: readonly Timed[]) =>
  runs.reduce((sum, { plusMinus95 }) => sum + (plusMinus95 / TWO_SIDED_95) ** 2, 0) / runs.length ** 2;

function nothing({ label, runs, gate, start }: LossQuestion, seconds: number | null, why: string): GroupLosses {
  const ids = runs.map((run) => run.id);
  return { label, runs: ids, gate: gate.name, start, seconds, quickest: null, why, losses: [], bands: [], atLeast: null, each: [] };
}

/** Never throws: what cannot be told says why. */
export function groupLosses(question: LossQuestion): GroupLosses {
  const { label, gate, start } = question;
  const speeds = speedsOf(gate, start);
  const times = question.runs.flatMap((run) => gateOf(run, gate.name, start)?.seconds ?? []);
  const meanS = times.length === 0 ? null : times.reduce((sum, s) => sum + s, 0) / times.length;
  if (typeof speeds === "string") return nothing(question, meanS, speeds);
  if (meanS === null) return nothing(question, null, `No run has a time for ${gate.name}`);
  const { fullTorqueNm } = question.car;
  if (fullTorqueNm.value === null)
    return nothing(question, meanS, `The quickest launch needs full torque: ${fullTorqueNm.why ?? "unknown"}`);
  const car = perAskedNm(question.car, fullTorqueNm.value, question.runs);
  const runs = question.runs.flatMap((run) => timed(run, question, speeds) ?? []);
  const withoutCurve = runs.find(({ curve }) => knownTyre(curve) === null);
  if (runs.length < times.length || withoutCurve !== undefined)
    return nothing(
      question,
      meanS,
      withoutCurve?.curve.why ?? "Slip under full load was not seen in every run: the tyre's limit is unknown",
    );
  const best = count(runs, worldOf(car));
  const variance = spread(runs, car, best);
  const timing = timingVariance(runs);
  const half = (own: number) => TWO_SIDED_95 * Math.sqrt(own + timing);
  const figures = (sums: LossSums, own: LossSums): CauseLoss[] =>
    LOSS_CAUSES.map((cause) => ({ cause, seconds: sums[cause], plusMinus95: half(own[cause] + STEP_SIGMA_S ** 2) }));
  const losses = figures(best.sums, variance.sums);
  const topKmh = (runs[0] as Timed).loss.to.speedMps * KMH_PER_MPS;
  const bands = best.bands.map((sums, i) => ({
    fromKmh: i * BAND_KMH,
    toKmh: Math.min((i + 1) * BAND_KMH, topKmh),
    losses: figures(sums, variance.bands[i] as LossSums),
  }));
  const ids = runs.map(({ run }) => run.id);
  const base = { label, runs: ids, gate: gate.name, start, seconds: meanS };
  if (beyondSeen(runs, car)) {
    const why = runs.find(({ curve }) => curve.why !== null)?.curve.why ?? null;
    return { ...base, quickest: null, why, losses: [], bands: [], atLeast: { quickestAtMost: best.quickest, losses, bands }, each: [] };
  }
  const quickest = { value: best.quickest, plusMinus95: TWO_SIDED_95 * Math.sqrt(variance.quickest) };
  return { ...base, quickest, why: null, losses, bands, atLeast: null, each: best.each };
}
