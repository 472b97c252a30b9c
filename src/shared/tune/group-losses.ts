/**
 * Quickest time and losses of a group of runs at one gate: the means of its runs, with the uncertainty of fit, tyre and measurement. Where
 * the peak of the grip curve was not reached, the least loss is given instead. A gate or run without losses says why.
 */
import { quantile, TWO_SIDED_95 } from "../kernel/statistics.ts";
import { KMH_PER_MPS } from "../kernel/units.ts";
import { KMH_AND_M, MPH_AND_FT, saidSpeed, type Units } from "../kernel/shown-units.ts";
import type { Gate } from "../launch/gate.ts";
import { MOVEMENT_MPS } from "../launch/gate-times.ts";
import type { StartName } from "../launch/gate-result.ts";
import type { Figure } from "./figure.ts";
import type { FittedCar } from "./fitted-car.ts";
import { gearChangedBelow } from "./gear-change.ts";
import type { GripCurve } from "./grip-curve.ts";
import { knownTyre } from "./known-tyre.ts";
import { beyondSeen, count, type RunLosses, spread, type Timed, worldOf } from "./loss-count.ts";
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

/** Losses against the most friction that was seen; the tyre may have more. */
interface LeastLosses {
  readonly quickestAtMost: number;
  readonly losses: readonly CauseLoss[];
  readonly bands: readonly SpeedBand[];
  readonly mphBands: readonly SpeedBand[];
}

export interface GroupLosses {
  readonly label: string;
  readonly runs: readonly number[];
  readonly gate: string;
  readonly start: StartName;
  /** Mean of the runs; null where none has a time. */
  readonly seconds: number | null;
  readonly quickest: Figure | null;
  /** Why there is no quickest time; null where there is one. */
  readonly why: string | null;
  /** Empty where there is no quickest time. */
  readonly losses: readonly CauseLoss[];
  /** By bands of speed, 20 km/h each; and 10 mph each, for readers of mph. */
  readonly bands: readonly SpeedBand[];
  readonly mphBands: readonly SpeedBand[];
  /** Given instead where the peak was not reached; null otherwise. */
  readonly atLeast: LeastLosses | null;
  readonly each: readonly RunLosses[];
}

export interface LossQuestion {
  readonly label: string;
  /** Runs of one group, in driving order. */
  readonly runs: readonly TuneRun[];
  readonly gate: Gate;
  readonly start: StartName;
  readonly car: FittedCar;
  readonly curves: readonly GripCurve[];
}

/** Delivered torque within this share of the request counts as delivered in full; beyond it torque was held back, or came late. */
const GIVEN_WITHIN = 0.04;
const LEAST_GIVEN_ROWS = 30;
const STEADY_ROWS = 3;
const STEADY_WITHIN = 0.01;
/** A cause begins and ends between two samples of 10 ms. */
const STEP_SIGMA_S = 0.006;

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

/** Where a run's own grip is unknown, it is the curve's. */
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
 * Force for each Nm asked for. Full torque and power are in terms of the request, force in terms of delivered torque, and an inverter's own
 * estimate is a per cent or two off. Unchanged where no run delivered what was asked.
 */
function perAskedNm(car: FittedCar, fullNm: number, runs: readonly TuneRun[]): FittedCar {
  const shares: number[] = [];
  // A command is the torque let through. Without one, torque that is held back a little makes the median too low.
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

/** Times are measured run by run. Their uncertainty is shared out over all causes, as nobody knows to which it belongs. */
const timingVariance = (runs: readonly Timed[]) =>
  runs.reduce((sum, { plusMinus95 }) => sum + (plusMinus95 / TWO_SIDED_95) ** 2, 0) / runs.length ** 2;

const NO_BANDS = { bands: [], mphBands: [] };

function nothing({ label, runs, gate, start }: LossQuestion, seconds: number | null, why: string): GroupLosses {
  const ids = runs.map((run) => run.id);
  return { label, runs: ids, gate: gate.name, start, seconds, quickest: null, why, losses: [], ...NO_BANDS, atLeast: null, each: [] };
}

/** What losses are counted from: the runs with their times, and the car as it pushes for what was asked for. */
interface Countable {
  readonly runs: readonly Timed[];
  readonly car: FittedCar;
  readonly meanS: number;
}

/** Without losses the answer says why. */
function countable(question: LossQuestion): Countable | GroupLosses {
  const { gate, start } = question;
  const speeds = speedsOf(gate, start);
  const times = question.runs.flatMap((run) => gateOf(run, gate.name, start)?.seconds ?? []);
  const meanS = times.length === 0 ? null : times.reduce((sum, s) => sum + s, 0) / times.length;
  if (typeof speeds === "string") return nothing(question, meanS, speeds);
  if (meanS === null) return nothing(question, null, `No run has a time for ${gate.name}`);
  for (const run of question.runs) {
    const atMps = gearChangedBelow(run, speeds.toMps);
    if (atMps !== null)
      return nothing(
        question,
        meanS,
        `Run ${run.id}: another gear is in from ${saidSpeed(atMps)} on, and losses are counted in one gear: name a gate that ends before`,
      );
  }
  const { fullTorqueNm } = question.car;
  if (fullTorqueNm.value === null)
    return nothing(question, meanS, `The quickest launch needs full torque: ${fullTorqueNm.why ?? "unknown"}`);
  const runs = question.runs.flatMap((run) => timed(run, question, speeds) ?? []);
  const withoutCurve = runs.find(({ curve }) => knownTyre(curve) === null);
  if (runs.length < times.length || withoutCurve !== undefined)
    return nothing(
      question,
      meanS,
      withoutCurve?.curve.why ?? "Slip under full load was not seen in every run: the tyre's limit is unknown",
    );
  return { runs, car: perAskedNm(question.car, fullTorqueNm.value, question.runs), meanS };
}

/**
 * More standard deviations of the quickest time than this above what was driven are no chance, and more than this share is no matter of the
 * model: the fitted car is not this one.
 */
const IMPOSSIBLE_SIGMAS = 3;
const IMPOSSIBLE_SHARE = 0.02;

/** The sentence where the fitted car could not have driven what was driven; null where it could. */
function whyImpossible(quickest: Figure, drivenS: number, runs: readonly TuneRun[]): string | null {
  const open = Math.max((IMPOSSIBLE_SIGMAS / TWO_SIDED_95) * quickest.plusMinus95, IMPOSSIBLE_SHARE * drivenS);
  if (quickest.value - open <= drivenS) return null;
  const surfaces = [...new Set(runs.map(({ surface }) => surface ?? "not noted"))];
  if (surfaces.length > 1)
    return `its runs were driven on different surfaces (${surfaces.join(", ")}): give those of each a label of their own, or choose one on Compare`;
  return `the fitted car could not drive this: its quickest is ${quickest.value.toFixed(2)}\u00a0s, and ${drivenS.toFixed(2)}\u00a0s was driven; check mass, weight on the axles, gear ratio and drag area in the set-up, and that the runs of a surface are on that surface`;
}

const whyBeyond = (runs: readonly Timed[]) => runs.find(({ curve }) => curve.why !== null)?.curve.why ?? null;

/** Each run's own losses, without their intervals: of a season those take a hundred times as long. `why`: null where there are some. */
export function eachLosses(question: LossQuestion): { readonly each: readonly RunLosses[]; readonly why: string | null } {
  const found = countable(question);
  if (!("meanS" in found)) return { each: [], why: found.why };
  const { runs, car } = found;
  return beyondSeen(runs, car) ? { each: [], why: whyBeyond(runs) } : { each: count(runs, worldOf(car)).each, why: null };
}

/** Never throws: what is unknown says why. */
export function groupLosses(question: LossQuestion): GroupLosses {
  const { label, gate, start } = question;
  const found = countable(question);
  if (!("meanS" in found)) return found;
  const { runs, car, meanS } = found;
  const best = count(runs, worldOf(car));
  const variance = spread(runs, car);
  const timing = timingVariance(runs);
  const half = (own: number) => TWO_SIDED_95 * Math.sqrt(own + timing);
  const figures = (sums: LossSums, own: LossSums): CauseLoss[] =>
    LOSS_CAUSES.map((cause) => ({ cause, seconds: sums[cause], plusMinus95: half(own[cause] + STEP_SIGMA_S ** 2) }));
  const losses = figures(best.sums, variance.sums);
  const topKmh = (runs[0] as Timed).loss.to.speedMps * KMH_PER_MPS;
  const { bands: own = [], mphBands: ownMph = [] } = best.each[0] ?? {};
  const bandsOf = ({ bandStep, perKmh }: Units, from: number, count: number): SpeedBand[] =>
    best.bands.slice(from, from + count).map((sums, i) => ({
      fromKmh: (i * bandStep) / perKmh,
      toKmh: Math.min(((i + 1) * bandStep) / perKmh, topKmh),
      losses: figures(sums, variance.bands[from + i] as LossSums),
    }));
  const byBand = { bands: bandsOf(KMH_AND_M, 0, own.length), mphBands: bandsOf(MPH_AND_FT, own.length, ownMph.length) };
  const ids = runs.map(({ run }) => run.id);
  const base = { label, runs: ids, gate: gate.name, start, seconds: meanS };
  if (beyondSeen(runs, car)) {
    return {
      ...base,
      quickest: null,
      why: whyBeyond(runs),
      losses: [],
      ...NO_BANDS,
      atLeast: { quickestAtMost: best.quickest, losses, ...byBand },
      each: [],
    };
  }
  const quickest = { value: best.quickest, plusMinus95: TWO_SIDED_95 * Math.sqrt(variance.quickest) };
  const impossible = whyImpossible(quickest, meanS, question.runs);
  if (impossible !== null) return nothing(question, meanS, impossible);
  return { ...base, quickest, why: null, losses, ...byBand, atLeast: null, each: best.each };
}
