/** Losses of several runs counted in one way that car, tyre and measurement may be, and how far the other ways lie from it. Needs runs that are timed and have a curve. */
import { TWO_SIDED_95 } from "../kernel/statistics.ts";
import { MPS_PER_KMH } from "../kernel/units.ts";
import type { FittedCar } from "./fitted-car.ts";
import type { GripCurve } from "./grip-curve.ts";
import { type KnownTyre, knownTyre, times } from "./known-tyre.ts";
import { type Doubt, LOSS_CAUSES, type LossRun, type LossSums, lossSteps, sumByBand, sumByCause } from "./losses.ts";
import { quickestOf } from "./quickest.ts";
import type { TuneRun } from "./tune-run.ts";

export const BAND_KMH = 20;
/** Torque as the bus reports it against full torque (common practice, no source): moves what counts as held back or asked late. */
const TORQUE_SHARE_SIGMA = 0.005;
/** Enough of the resampled curves to know a spread to a tenth. */
const MOST_RESAMPLED = 40;

/** Figures of the car that can be doubted, each by itself. Mass is none of them: friction and force were found with it, and it cancels. */
const DOUBTED = [
  "rollingRadiusM",
  "dragAreaM2",
  "rollingResistance",
  "axleInertiaKgM2",
  "fullTorqueNm",
  "fullPowerW",
  "newtonPerNm",
] as const;

/** A run ready to be stepped through. */
export interface Timed {
  readonly run: TuneRun;
  readonly loss: LossRun;
  readonly seconds: number;
  readonly plusMinus95: number;
  readonly curve: GripCurve;
  /** Standard deviation of slip that all samples of the run share. */
  readonly slipSigma: number;
  /** Its grip over its curve's, and the standard deviation of that. */
  readonly grip: { readonly value: number; readonly sigma: number };
}

/** One run's own sums; they add up to its seconds less its quickest. */
export interface RunLosses {
  readonly run: number;
  readonly seconds: number;
  readonly quickest: number;
  readonly losses: LossSums;
  readonly bands: readonly LossSums[];
  /** Seconds whose cause could not be told, torque or slip being unknown; they stand under "rest". */
  readonly untoldS: number;
}

/** One way the car and its tyres may be, with a boundary between causes that may lie elsewhere. */
interface World {
  readonly car: FittedCar;
  readonly tyre: (curve: GripCurve) => KnownTyre | null;
  /** Of slip: times each run's own sigma. */
  readonly slipSigmas: number;
  readonly torqueShare: number;
  /** Of each run's own grip. */
  readonly gripSigmas: number;
  /** Of the slip that counts as spin. */
  readonly spinTimes: number;
}

export interface Counted {
  readonly quickest: number;
  readonly sums: LossSums;
  readonly bands: readonly LossSums[];
  readonly each: readonly RunLosses[];
}

const zeros = (): LossSums => ({ spin: 0, heldBack: 0, askedLate: 0, rest: 0 });

function meanSums(all: readonly LossSums[]): LossSums {
  const mean = zeros();
  for (const sums of all) for (const cause of LOSS_CAUSES) mean[cause] += sums[cause] / all.length;
  return mean;
}

export function count(runs: readonly Timed[], world: World): Counted {
  const tyres = new Map<GripCurve, KnownTyre>();
  const each = runs.map(({ run, loss, seconds, curve, slipSigma, grip }): RunLosses => {
    const tyre = tyres.get(curve) ?? (world.tyre(curve) as KnownTyre);
    tyres.set(curve, tyre);
    // Each launch is held against what its own road and warmth allowed.
    const quickest = quickestOf(world.car, times(tyre, grip.value + world.gripSigmas * grip.sigma), loss.to.speedMps);
    const doubt: Doubt = { slip: world.slipSigmas * slipSigma, torqueShare: world.torqueShare };
    const steps = lossSteps(loss, world.car, quickest, world.spinTimes * tyre.spinsFrom, doubt);
    return {
      run: run.id,
      seconds,
      quickest: quickest.timeS(loss.to.speedMps) - quickest.timeS(loss.from.speedMps),
      losses: sumByCause(steps),
      bands: sumByBand(steps, BAND_KMH * MPS_PER_KMH, loss.to.speedMps),
      untoldS: steps.reduce((sum, step) => sum + (step.told ? 0 : step.seconds), 0),
    };
  });
  const bands = (each[0]?.bands ?? []).map((_, i) => meanSums(each.map((run) => run.bands[i] as LossSums)));
  return {
    quickest: each.reduce((sum, run) => sum + run.quickest, 0) / each.length,
    sums: meanSums(each.map((run) => run.losses)),
    bands,
    each,
  };
}

/** Whether some speed between the two asks more of a tyre than was ever seen of it. */
export function beyondSeen(runs: readonly Timed[], car: FittedCar): boolean {
  return [...new Set(runs.map((run) => run.curve))].some((curve) => {
    const tyre = knownTyre(curve);
    if (tyre === null || tyre.reached) return false;
    const { from, to } = (runs[0] as Timed).loss;
    const quickest = quickestOf(car, tyre, to.speedMps);
    for (let speed = from.speedMps; speed <= to.speedMps; speed += 0.5) if (quickest.at(speed).limit === "tyre") return true;
    return false;
  });
}

/** The likeliest way. */
export const worldOf = (car: FittedCar): World => ({
  car,
  tyre: (curve) => knownTyre(curve),
  slipSigmas: 0,
  torqueShare: 0,
  gripSigmas: 0,
  spinTimes: 1,
});

interface Variances {
  quickest: number;
  readonly sums: LossSums;
  readonly bands: readonly LossSums[];
}

/** Each run's own doubt, which no other run shares: squares of what it moves add up. */
function addEach(variance: Variances, best: Counted, moved: Counted): void {
  const n = best.each.length;
  for (const [i, run] of best.each.entries()) {
    const other = moved.each[i] as RunLosses;
    variance.quickest += ((other.quickest - run.quickest) / n) ** 2;
    for (const cause of LOSS_CAUSES) {
      variance.sums[cause] += ((other.losses[cause] - run.losses[cause]) / n) ** 2;
      for (const [k, band] of variance.bands.entries())
        band[cause] += (((other.bands[k] as LossSums)[cause] - (run.bands[k] as LossSums)[cause]) / n) ** 2;
    }
  }
}

/** Variance of each figure of `best` over everything that is uncertain. */
export function spread(runs: readonly Timed[], car: FittedCar, best: Counted): Variances {
  const variance: Variances = { quickest: 0, sums: zeros(), bands: best.bands.map(zeros) };
  const base = worldOf(car);
  const add = (worlds: readonly World[]) => {
    const counted = worlds.map((world) => count(runs, world));
    const meanSquare = (pick: (from: Counted) => number) =>
      counted.reduce((sum, one) => sum + (pick(one) - pick(best)) ** 2, 0) / counted.length;
    variance.quickest += meanSquare((from) => from.quickest);
    for (const cause of LOSS_CAUSES) {
      variance.sums[cause] += meanSquare((from) => from.sums[cause]);
      for (const [i, band] of variance.bands.entries()) band[cause] += meanSquare((from) => (from.bands[i] as LossSums)[cause]);
    }
  };
  for (const name of DOUBTED) {
    const figure = car[name];
    const sigma = (figure.plusMinus95 ?? 0) / TWO_SIDED_95;
    if (figure.value === null || !(sigma > 0)) continue;
    const { value } = figure;
    add([sigma, -sigma].map((by) => ({ ...base, car: { ...car, [name]: { ...figure, value: value + by } } })));
  }
  const resampled = Math.min(MOST_RESAMPLED, ...[...new Set(runs.map(({ curve }) => curve))].map((curve) => curve.resampled.length));
  if (resampled > 1) add(Array.from({ length: resampled }, (_, i) => ({ ...base, tyre: (curve: GripCurve) => drawnAnew(curve, i) })));
  else add([1, -1].map((sign) => ({ ...base, tyre: (curve: GripCurve) => doubted(knownTyre(curve), curve, sign / TWO_SIDED_95) })));
  addEach(variance, best, count(runs, { ...base, gripSigmas: 1 }));
  // A peak that was not reached may lie at half or twice the slip where the formula has it.
  if (runs.some(({ curve }) => curve.bestSlip === null)) add([0.5, 2].map((spinTimes) => ({ ...base, spinTimes })));
  add([1, -1].map((slipSigmas) => ({ ...base, slipSigmas })));
  add([TORQUE_SHARE_SIGMA, -TORQUE_SHARE_SIGMA].map((torqueShare) => ({ ...base, torqueShare })));
  return variance;
}

/** The shape of runs drawn anew at the level of all: how high each run itself grips is its own doubt, and must not count twice. */
function drawnAnew(curve: GripCurve, i: number): KnownTyre | null {
  const [whole, drawn] = [knownTyre(curve), knownTyre(curve, curve.resampled[i])];
  return whole === null || drawn === null ? whole : times(drawn, whole.peakFriction / drawn.peakFriction);
}

/** A tyre whose peak is so many of its half widths higher; for curves that were not resampled. */
function doubted(tyre: KnownTyre | null, { peakFriction }: GripCurve, halfWidths: number): KnownTyre | null {
  if (tyre === null || peakFriction === null) return tyre;
  return times(tyre, 1 + (halfWidths * peakFriction.plusMinus95) / peakFriction.value);
}
